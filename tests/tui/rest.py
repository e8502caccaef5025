"""When a screen has come to rest: nobody has a message left and everything is laid out.

Textual's own pause looks at how busy the process is; on a busy machine a program that waits for its turn looks idle.
"""

from __future__ import annotations

import asyncio
from typing import Any

from textual.pilot import Pilot

__all__ = ["rest"]

ROUNDS = 2000


async def rest(pilot: Pilot[Any]) -> None:
    """Wait until two looks in a row find nothing to do on one screen. Raises AssertionError if that never comes."""
    quiet, app = 0, pilot.app
    for _ in range(ROUNDS):
        before = app.screen
        await pilot._wait_for_screen()
        app.screen._on_timer_update()
        await asyncio.sleep(0)
        quiet = quiet + 1 if app.screen is before and not _busy(app) else 0
        if quiet == 2:
            return
    raise AssertionError("the screen never came to rest")


def _busy(app: Any) -> bool:
    screen = app.screen
    if screen._layout_required or screen._repaint_required or screen._dirty_widgets or screen._callbacks:
        return True
    pumps = [app, *screen.walk_children(with_self=True)]
    return any(pump._message_queue.qsize() or pump._next_callbacks for pump in pumps)
