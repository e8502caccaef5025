"""The base of every fact, and the kinds of value facts are made of."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

from assess.records.text import LONGEST_TEXT

__all__ = [
    "ENVELOPE", "FREE_TEXT", "LONGEST_TEXT", "Code", "Fact", "Hash64", "Head", "IsoDate", "Line", "Number", "Text",
    "Viewpoint",
]  # fmt: skip

FREE_TEXT = frozenset(
    {
        "text", "reason", "what", "where", "who", "goal", "steps", "plan_b", "asked", "account", "weather",
        "snow", "visibility", "wind", "closures", "radio", "patrol", "meeting_point", "first_aid", "open_ground",
        "may_leave", "bulletin_source", "behaviour", "checked_by", "claim", "finding", "practice", "remedy", "waiver",
        "words",
    }
)  # fmt: skip

ENVELOPE = frozenset({"n", "at", "salt", "sig", "chain"})
"""The keys every entry has beside its fact."""

Text = Annotated[str, StringConstraints(max_length=LONGEST_TEXT)] | None
Code = Annotated[str, StringConstraints(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
Number = Annotated[int, Field(ge=1)]
Hash64 = Annotated[str, StringConstraints(pattern=r"^sha256:[0-9a-f]{64}$")]
Head = Annotated[str, StringConstraints(pattern=r"^\d{1,9} [0-9a-f]{16}$")]
Line = Annotated[str, StringConstraints(max_length=400)]
IsoDate = Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$")]
Viewpoint = Literal["front", "side", "below", "behind", "lift", "film"]


class Fact(BaseModel):
    """Base of every fact; `erased` maps a free-text key to the digest left by an erasure.

    signed: a named person stands for it; a desk with an unlocked key signs it.

    A fact with a key of the envelope would write over it and make the ledger unreadable: TypeError when it is made.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)
    kind: str
    erased: dict[str, str] = Field(default_factory=dict, exclude=True)

    always: ClassVar[tuple[str, ...]] = ()
    signed: ClassVar[bool] = False

    @classmethod
    def __pydantic_init_subclass__(cls, **_: Any) -> None:
        """Keep the keys of the envelope free."""
        taken = ENVELOPE.intersection({field.alias or name for name, field in cls.model_fields.items()})
        if taken:
            raise TypeError(f"{cls.__name__}: {', '.join(sorted(taken))} is a key of every entry")

    def payload(self) -> dict[str, Any]:
        """The fact as written: `kind`, what is always said of its kind, then whatever is not the default."""
        told = self.model_dump(mode="json", by_alias=True, exclude_defaults=True)
        said = self.model_dump(mode="json", by_alias=True, include=set(self.always)) if self.always else {}
        return {
            "kind": self.kind,
            **said,
            **told,
            **{f"{key}_sha": digest for key, digest in self.erased.items()},
        }
