"""A rubric as other programs exchange it: the CFPackage of CASE 1.1 (1EdTech), read and written through these models.

The fields, which of them are required, and that the classes are closed follow the published definitions of the
standard; the pattern of identifiers is theirs, anchored. What is our own stands in `extensions`: an object
everywhere, on a level a list of objects.
"""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

__all__ = [
    "Association", "Definitions", "Document", "Item", "Link", "Package", "PackedCriterion", "PackedLevel",
    "PackedRubric",
]  # fmt: skip

UUID_PATTERN = r"^[0-9a-f]{8}-[0-9a-f]{4}-[1-5][0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$"
_MOMENT = r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,9})?(Z|[+-]\d\d:\d\d)$"


def _a_moment(text: str) -> str:
    digits, dot, rest = text.partition(".")
    zone = rest.lstrip("0123456789") if dot else ""
    datetime.fromisoformat(digits + zone if dot else text)
    return text


Uuid = Annotated[str, Field(pattern=UUID_PATTERN)]
Uri = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9+.-]*:[!-~]+$", json_schema_extra={"format": "uri"})]
Moment = Annotated[str, Field(pattern=_MOMENT, json_schema_extra={"format": "date-time"}), AfterValidator(_a_moment)]
Number = Annotated[float, Field(allow_inf_nan=False)]
Extensions = dict[str, Any]


class _Class(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class _Identified(_Class):
    identifier: Uuid
    uri: Uri
    lastChangeDateTime: Moment


class Link(_Class):
    """A reference to another thing: its title, identifier and address."""

    title: str
    identifier: str
    uri: Uri
    targetType: str | None = None


class Document(_Identified):
    """The framework the package holds: who made it, what it is called."""

    creator: str
    title: str
    caseVersion: Literal["1.1"] | None = None
    frameworkType: str | None = None
    officialSourceURL: Uri | None = None
    publisher: str | None = None
    description: str | None = None
    subject: tuple[str, ...] | None = None
    subjectURI: tuple[Link, ...] | None = None
    language: str | None = None
    version: str | None = None
    adoptionStatus: str | None = None
    statusStartDate: str | None = None
    statusEndDate: str | None = None
    licenseURI: Link | None = None
    notes: str | None = None
    CFPackageURI: Link | None = None
    extensions: Extensions | None = None


class Item(_Identified):
    """A statement of the framework. Read over: a rubric needs none."""

    fullStatement: str
    alternativeLabel: str | None = None
    CFItemType: str | None = None
    humanCodingScheme: str | None = None
    listEnumeration: str | None = None
    abbreviatedStatement: str | None = None
    conceptKeywords: tuple[str, ...] | None = None
    conceptKeywordsURI: Link | None = None
    notes: str | None = None
    subject: tuple[str, ...] | None = None
    subjectURI: tuple[Link, ...] | None = None
    language: str | None = None
    educationLevel: tuple[str, ...] | None = None
    CFItemTypeURI: Link | None = None
    licenseURI: Link | None = None
    statusStartDate: str | None = None
    statusEndDate: str | None = None
    extensions: Extensions | None = None


class Association(_Identified):
    """A tie between two statements. Read over: a rubric needs none."""

    associationType: str
    originNodeURI: Link
    destinationNodeURI: Link
    sequenceNumber: int | None = None
    CFAssociationGroupingURI: Link | None = None
    notes: str | None = None
    extensions: Extensions | None = None


class Definitions(_Class):
    """Words the framework defines. Read over: a rubric needs none."""

    CFConcepts: tuple[dict[str, Any], ...] | None = None
    CFSubjects: tuple[dict[str, Any], ...] | None = None
    CFLicenses: tuple[dict[str, Any], ...] | None = None
    CFItemTypes: tuple[dict[str, Any], ...] | None = None
    CFAssociationGroupings: tuple[dict[str, Any], ...] | None = None
    extensions: Extensions | None = None


class PackedLevel(_Identified):
    """A point on a criterion's scale. quality: what heads its column; score: its points."""

    description: str | None = None
    quality: str | None = None
    score: Number | None = None
    feedback: str | None = None
    position: int | None = None
    rubricCriterionId: Uuid | None = None
    extensions: tuple[Extensions, ...] | None = None


class PackedCriterion(_Identified):
    """What is judged. category: the group it stands in."""

    category: str | None = None
    description: str | None = None
    CFItemURI: Link | None = None
    weight: Number | None = None
    position: int | None = None
    rubricId: Uuid | None = None
    CFRubricCriterionLevels: tuple[PackedLevel, ...] | None = None
    extensions: Extensions | None = None


class PackedRubric(_Identified):
    """One rubric with its criteria."""

    title: str | None = None
    description: str | None = None
    CFRubricCriteria: tuple[PackedCriterion, ...] | None = None
    extensions: Extensions | None = None


class Package(_Class):
    """The whole file: a framework, and the rubrics in it."""

    CFDocument: Document
    CFItems: tuple[Item, ...] | None = None
    CFAssociations: tuple[Association, ...] | None = None
    CFDefinitions: Definitions | None = None
    CFRubrics: tuple[PackedRubric, ...] | None = None
    extensions: Extensions | None = None
