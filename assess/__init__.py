"""Assess: mark, moderate and decide the assessment of sports instructors."""

__version__ = "0.1.0"
__all__ = ["__version__"]
