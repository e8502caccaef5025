"""The named alternative for screens: a bare Textual app with a few lines, one of which a key changes."""

from __future__ import annotations

from textual.app import App, ComposeResult
from textual.events import Key
from textual.widgets import Static


class Bare(App[None]):
    """Twelve lines; a digit is shown on the first."""

    def compose(self) -> ComposeResult:
        for number in range(12):
            yield Static(f"line {number}", id=f"l{number}", markup=False)

    def on_key(self, event: Key) -> None:
        self.query_one("#l0", Static).update(f"line {event.character}")


if __name__ == "__main__":
    Bare().run()
