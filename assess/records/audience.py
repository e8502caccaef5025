"""For whom an export is made. ISO/IEC 17024, 7.3: what is confidential leaves only for those it is meant for."""

from __future__ import annotations

from typing import Literal

__all__ = ["AUDIENCES", "Audience"]

Audience = Literal["candidate", "panel", "director", "research", "person", "anyone"]
AUDIENCES: dict[Audience, str] = {
    "candidate": "for one candidate: nothing of other candidates, markers by number",
    "panel": "for the assessors and directors of the course",
    "director": "for the directors of the course alone",
    "research": "for research: ids only, no name, no contact, no text",
    "person": "for the one person it is about",
    "anyone": "for anyone: it names nobody",
}
"""Each audience, and what a file made for it promises."""
