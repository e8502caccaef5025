"""Screens and widgets: shows what the desk says, sends what the person does."""
