"""Lines, dots, bars and words on paper of a set size, as SVG by matplotlib's own writer of it.

Its figures and axes are left out: they cost most of the time of a letter, and what stands where is known beforehand.
"""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Literal

from assess.records.text import pictured
from assess.reports.library import library

if TYPE_CHECKING:
    from matplotlib.path import Path

__all__ = ["Drawing", "Place", "drawing", "ticks"]

Place = tuple[float, float]
"""Points to the right and down from the left upper corner."""
Mark = Literal["o", "|"]
Anchor = Literal["start", "middle", "end"]
_SETTINGS: Any = {"svg.fonttype": "none", "svg.hashsalt": "assess", "text.parse_math": False}
_ANCHORS: dict[Anchor, Literal["left", "center", "right"]] = {"start": "left", "middle": "center", "end": "right"}


@contextmanager
def drawing(width: float, height: float) -> Iterator[Drawing]:
    """A picture of width x height points to draw in: text stays text, ids do not depend on chance."""
    with library("matplotlib", "a page with a chart"):
        from matplotlib import rc_context
        from matplotlib.backends.backend_svg import RendererSVG

    raw = io.StringIO()
    renderer: Any = RendererSVG
    nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
    with rc_context(_SETTINGS):
        yield Drawing(renderer(width, height, raw, metadata=nothing), raw)


class Drawing:
    """A picture being made; what is drawn first lies below. The same acts give the same SVG."""

    def __init__(self, renderer: Any, raw: io.StringIO) -> None:
        self.width, self.height = float(renderer.width), float(renderer.height)
        self._renderer, self._raw = renderer, raw

    def line(
        self, places: Sequence[Place], colour: str, wide: float, dashes: tuple[float, float] | None = None
    ) -> None:
        """A line through places, `wide` points; dashes: points of line and of gap."""
        from matplotlib.transforms import IdentityTransform

        pen = self._pen(colour, wide)
        if dashes is not None:
            pen.set_dashes(0, list(dashes))
        self._renderer.draw_path(pen, self._path(places), IdentityTransform())

    def bar(self, left: float, top: float, width: float, height: float, colour: str) -> None:
        """A filled rectangle."""
        from matplotlib.colors import to_rgb
        from matplotlib.transforms import IdentityTransform

        right, low = left + width, top + height
        corners = [(left, low), (left, top), (right, top), (right, low), (left, low)]
        self._renderer.draw_path(self._pen(colour, 0), self._path(corners), IdentityTransform(), to_rgb(colour))

    def marks(self, kind: Mark, places: Sequence[Place], colour: str, size: float) -> None:
        """A mark at each place: `o` a filled dot, `|` the end of an interval; size: its points across."""
        from matplotlib.colors import to_rgb
        from matplotlib.markers import MarkerStyle
        from matplotlib.transforms import Affine2D, IdentityTransform

        if not places:
            return
        shape = MarkerStyle(kind)
        pen, face = (self._pen(colour, 0.5), to_rgb(colour)) if kind == "o" else (self._pen(colour, 1), None)
        turned = shape.get_transform() + Affine2D().scale(size)
        self._renderer.draw_markers(pen, shape.get_path(), turned, self._path(places), IdentityTransform(), face)

    def word(self, place: Place, text: str, colour: str, size: float, anchor: Anchor = "middle") -> None:
        """A text, kept as text, on its base line; anchor: `start`, `middle` or `end` of it stands at the place."""
        from matplotlib.font_manager import FontProperties
        from matplotlib.text import Text

        text = pictured(text)
        font = FontProperties(family="DejaVu Sans", size=size)
        beside: Any = Text(place[0], 0, text, horizontalalignment=_ANCHORS[anchor])
        self._renderer.draw_text(self._pen(colour, 1), *place, text, font, 0, mtext=beside)

    def svg(self) -> str:
        """The picture as an SVG element to stand in a page: no date, no style sheet, ids of its own. Ends it."""
        self._renderer.finalize()
        svg = self._raw.getvalue()
        # Its style sheet would reach the whole page.
        svg = re.sub(r"\s*<defs>\s*<style.*?</style>\s*</defs>", "", svg[svg.index("<svg") :], count=1, flags=re.DOTALL)
        mark = "c" + hashlib.sha256(svg.encode("utf-8")).hexdigest()[:8]
        svg = re.sub(r'\bid="', f'id="{mark}-', svg)
        svg = re.sub(r'href="#', f'href="#{mark}-', svg)
        return svg.replace("url(#", f"url(#{mark}-").strip()

    def _pen(self, colour: str, wide: float) -> Any:
        pen = self._renderer.new_gc()
        pen.set_foreground(colour)
        pen.set_linewidth(wide)
        return pen

    def _path(self, places: Sequence[Place]) -> Path:
        from matplotlib.path import Path

        return Path([(right, self.height - down) for right, down in places])


def ticks(low: float, high: float, most: int) -> list[tuple[float, str]]:
    """Round numbers from low to high, with about `most` steps between them, each as it is written."""
    from matplotlib.ticker import MaxNLocator

    found = [float(at) for at in MaxNLocator(most, steps=[1, 2, 2.5, 5, 10]).tick_values(low, high)]
    edge = 1e-9 * (high - low)
    inside = [at for at in found if low - edge <= at <= high + edge]
    digits = next((n for n in range(6) if all(abs(round(at, n) - at) <= edge for at in inside)), 6)
    return [(at, f"{at + 0.0:.{digits}f}".replace("-", "\u2212")) for at in inside]
