"""A case file as a page for people, and as an archive in which every file can be checked."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from assess.records.text import line_text
from assess.reports.document import Block, Document, Listing, Note, Section, Table, Text

if TYPE_CHECKING:
    from assess.desk.session import Desk

__all__ = ["case_archive", "case_document", "case_html", "case_json_bytes", "case_lines"]

_ROLE = {
    "first": "marked it",
    "third": "third look",
    "mixed": "marked along with a third look of others, used in nothing",
}


def case_document(record: dict[str, Any]) -> Document:
    """The page of a case file: what is missing first, then the claim, then everything the record says."""
    who, case = record["candidate"], record["case"]
    title = f"Case {case['id']}" if case else f"Record of {who['id']}"
    return Document(
        title=f"{title}: {who['name']}",
        about=f"{record['course']['title']} ({record['course']['id']}); candidate {who['id']}",
        audience=f"For {record['audience']}",
        dated=_newest(record),
        sections=tuple(_sections(record)),
        closing=(
            "People decide. This page tells what the record holds; it finds nothing and proposes nothing.",
            "Severity and drift of one course are a reason to look, never a proof.",
        ),
    )


def _newest(record: dict[str, Any]) -> str:
    """The day of the newest entry the file rests on: the page is dated by the record, not by today."""
    days = [sheet["locked_at"] for slot in record["slots"] for sheet in slot["sheets"] if sheet["locked_at"]]
    days += [item["at"] for module in record["modules"] for item in module["decisions"]]
    if record["case"]:
        days.append(record["case"]["received"])
    return str(max(days, default=record["course"]["days"][0]))[:10]


def _sections(record: dict[str, Any]) -> Iterator[Section]:
    if record["missing"]:
        yield Section("What is missing", (Note("These are holes in the record; each may matter.", "missing"),
                                          Listing(tuple(record["missing"]))))  # fmt: skip
    if record["case"]:
        yield _claim(record["case"])
    yield Section("Outcome and decisions", tuple(_decided(record)))
    yield Section("Without one marker", (_without_one(record),))
    yield Section("Places, severity and drift", tuple(_order(record)))
    yield Section("What each marker wrote", sections=tuple(map(_slot, record["slots"])))
    if record["breaches"]:
        yield Section("Breaches", tuple(block for item in record["breaches"] for block in _breach(item)))
    if record["late_evidence"]:
        yield Section("Late evidence, kept apart from the scores", (_late(record),))
    yield Section("How alike these markers are", (_agreement(record),))
    yield Section("The rubric in force", sections=tuple(map(_rubric, record["rubrics"])))
    yield Section("Verification", tuple(_verification(record)))
    yield Section("Who may not review this", (Table("People with a part in it", ("Who", "Why"), tuple(
        (item["who"], "; ".join(item["why"])) for item in record["excluded"])),))  # fmt: skip


def _claim(case: dict[str, Any]) -> Section:
    lines: list[Block] = [
        Text(
            f"{case['about'].capitalize()}, received {case['received']}; grounds: {', '.join(case['grounds']) or '-'}."
        ),
        Note(case["claim"] or "(erased)", "words"),
    ]
    lines += [Text(f"Checked: {item['text'] or '(erased)'}") for item in case["checked"]]
    if case["result"]:
        lines.append(Text(f"Finding of {case['reviewer']}: {case['result']}. {case['finding'] or '(erased)'}"))
        lines.append(Text(f"Remedy: {case['remedy']}" if case["remedy"] else "The decision stands."))
    elif case["due"]:
        lines.append(Note(f"Next: {case['due']}, until {case['until']}.", "caution"))
    return Section("The claim", tuple(lines))


def _decided(record: dict[str, Any]) -> Iterator[Block]:
    from assess.desk.waiving import beside_lines

    rows = [
        (module["id"], _words(item["outcome"]), item["mean"] or "-", item["decision"], item["by"], item["at"][:10],
         "yes" if item["worked_out_again_the_same"] else "NO")
        for module in record["modules"]
        for item in module["decisions"]
    ]  # fmt: skip
    columns = ("Module", "Outcome", "Mean", "Decision", "Signed by", "On", "Worked out again the same")
    yield Table("Signed decisions", columns, tuple(rows), frozenset({2}))
    for module in record["modules"]:
        now = module["as_it_stands"]
        if now["outcome"] is not None:
            mean = f"mean {now['mean']} ({now['mean_exact']}) of {now['n_sheets']} sheets" if now["mean"] else "no mean"
            why = f"; {'; '.join(now['reasons'])}" if now["reasons"] else ""
            stands = f"{module['id']}, as the record stands: {_words(now['outcome'])}"
            yield Text(f"{stands}, {mean}, line {line_text(now['line'])}{why}.")
            if now["flips_with"]:
                yield Text(str(now["flips_with"]))
            yield from map(Text, beside_lines(now))
    yield from (Note(item["sentence"], "caution") for item in record["waivers"])


def _without_one(record: dict[str, Any]) -> Table:
    rows = tuple(
        (f"{item['module']} without {item['without']}", item["mean"] or "-", item["mean_exact"] or "-",
         str(item["n_sheets"]), _words(item["outcome"]))
        for item in record["without_one"]
    )  # fmt: skip
    columns = ("What", "Mean", "Exact", "Sheets", "Outcome")
    return Table("The module once more, one marker left out", columns, rows, frozenset({1, 2, 3}))


def _order(record: dict[str, Any]) -> Iterator[Block]:
    rows = tuple(
        (slot["task"], f"{slot['place']} of {slot['of']}", slot["at"] or "-",
         ", ".join(sheet["assessor"] for sheet in slot["sheets"] if sheet["role"] != "mixed"))
        for slot in record["slots"]
    )  # fmt: skip
    yield Table("Place in the running order", ("Task", "Place", "At", "Markers"), rows)
    if record["drift"]:
        told = tuple((item["assessor"], item["effect"], item["sentence"] or "-") for item in record["drift"])
        yield Table("Severity and drift over the whole course", ("Assessor", "What", "What it says"), told)


def _slot(slot: dict[str, Any]) -> Section:
    criteria = list(dict.fromkeys(name for sheet in slot["sheets"] for name in sheet.get("marks", ())))
    columns = ("Criterion", *(f"{sheet['assessor']} ({_ROLE[sheet['role']]})" for sheet in slot["sheets"]))
    rows = [(name, *(_mark(sheet.get("marks", {}).get(name)) for sheet in slot["sheets"])) for name in criteria]
    rows.append(("sheet value", *(sheet.get("value_shown") or "not observed" for sheet in slot["sheets"])))
    if any(sheet.get("from_cards") for sheet in slot["sheets"]):
        rows.append(("typed in from paper", *(_cards(sheet.get("from_cards", ())) for sheet in slot["sheets"])))
    rows.append(("locked", *(_moment(sheet["locked_at"]) for sheet in slot["sheets"])))
    blocks: list[Block] = [Table(f"{slot['slot']}: marks as given", columns, tuple(rows))]
    for sheet in slot["sheets"]:
        seen = tuple(
            f"{_moment(item['at'])}  {item['text'] or '(erased)'}"
            + (f" [{', '.join(item['criteria'])}]" if item["criteria"] else "")
            for item in sheet.get("observations", ())
        )
        blocks += [Text(f"{sheet['assessor']} saw:"), Listing(seen) if seen else Note("Nothing is noted.", "missing")]
    for item in slot["moderations"]:
        agreed = item["outcome"].replace("-", " ") + "".join(f", {k} {v}" for k, v in item["values"].items())
        blocks.append(Text(f"Moderated {_moment(item['at'])}: {agreed}; present {', '.join(item['present'])}; "
                           f"{item['reason'] or '(erased)'}"))  # fmt: skip
    return Section(slot["slot"], tuple(blocks))


def _mark(mark: dict[str, Any] | None) -> str:
    if mark is None:
        return "no mark"
    if mark["status"] == "scored":
        return str(mark["level"])
    why = f" ({mark['why']})" if mark["why"] else ""
    return f"{mark['status'].replace('-', ' ')}{why}"


def _breach(item: dict[str, Any]) -> Iterator[Block]:
    yield Text(f"{item['must_not']}: {item['state'].replace('-', ' ')}; closes {', '.join(item['modules'])}.")
    for report in item["reports"]:
        said = "; ".join(str(report[key]) for key in ("what", "where", "who") if report[key]) or "facts not completed"
        yield Text(f"Reported by {report['by']} in {report['task']}, {_moment(report['at'])}: {said}")
    for step in item["steps"]:
        if step["kind"] == "breach-account":
            yield Text(f"The candidate's account, {_moment(step['at'])}, taken by {step['by']}:")
            yield Note("declined" if step.get("declined") else step.get("account") or "(erased)", "words")
        else:
            yield Text(f"{step['state'].replace('-', ' ').capitalize()} by {step['by']}, {_moment(step['at'])}, on the "
                       f"standard \"{step['standard']}\": {step.get('reason') or '(erased)'}")  # fmt: skip


def _late(record: dict[str, Any]) -> Table:
    rows = tuple(
        (item["slot"], item["what"] or "(erased)", item["digest"][:19],
         "no ruling yet" if item["admitted"] is None else "admitted" if item["admitted"] else "not admitted",
         item["rule"] or "-")
        for item in record["late_evidence"]
    )  # fmt: skip
    return Table("Late evidence", ("Slot", "What", "Digest", "Ruling", "By which rule"), rows)


def _agreement(record: dict[str, Any]) -> Table:
    rows = tuple(
        (
            " and ".join(item["pair"]),
            str(item["n"]),
            str(item["equal"]),
            str(item["within_one"]),
            str(item["same_side"]),
        )
        for item in record["agreement"]
    )
    columns = ("Pair", "Pairs of marks", "Equal", "Within one", "Same side of the line")
    return Table("These pairs in the whole course", columns, rows, frozenset({1, 2, 3, 4}))


def _rubric(item: dict[str, Any]) -> Section:
    blocks: list[Block] = [Text(f"{item['rubric']}, sha256 {item['sha256']}, in force from day {item['from_day']}.")]
    for criterion in item["criteria"]:
        rows = tuple((level, words) for level, words in criterion["levels"].items())
        blocks.append(Table(f"{criterion['label']}: {criterion['text']}", ("Level", "What it looks like"), rows))
    return Section(f"{item['task']} {item['title']}", tuple(blocks))


def _verification(record: dict[str, Any]) -> Iterator[Block]:
    found = record["verification"]
    if found["holds"]:
        yield Text(f"Every chain and every recorded head holds ({found['records']} records).")
    else:
        own, others = len(found["of_this_candidate"]), found["elsewhere"]
        yield Note(
            f"{own} findings on records of this candidate and {others} on others: they do not verify.", "missing"
        )
        yield Listing(tuple(found["of_this_candidate"]) or ("none of this candidate",))
    if found["not_anchored"]:
        yield Text(f"Not yet anchored by a seal: {', '.join(found['not_anchored'])}.")


def _words(outcome: str | None) -> str:
    return (outcome or "-").replace("_", " ").replace("-", " ").strip() or "-"


def _moment(at: str | None) -> str:
    return f"{at[:10]} {at[11:19]} UTC" if at else "not locked"


def case_html(record: dict[str, Any]) -> bytes:
    """The page of a case file as one HTML file."""
    from assess.reports.page import as_html

    return as_html(case_document(record)).encode("utf-8")


def case_lines(record: dict[str, Any]) -> Iterator[str]:
    """The page of a case file as plain lines."""
    from assess.reports.plain import as_lines

    return as_lines(case_document(record))


def case_json_bytes(record: dict[str, Any]) -> bytes:
    """The record as JSON, the same bytes each time."""
    return (json.dumps(record, ensure_ascii=False, indent=1, allow_nan=False) + "\n").encode("utf-8")


def case_archive(desk: Desk, record: dict[str, Any]) -> bytes:
    """A zip of the page, the data, every ledger of the candidate and every rubric in force, with `MANIFEST.sha256`.

    `sha256sum -c MANIFEST.sha256` checks it. The same record gives the same bytes.
    """
    from assess.store.packing import packed

    candidate = record["candidate"]["id"]
    files = {"case.json": case_json_bytes(record), "case.html": case_html(record)}
    for file in desk.folder.ledgers:
        task = file.ledger.header.task
        if file.ledger.header.candidate != candidate or (task and not desk.sight.slot_open(task, candidate)):
            continue
        files[f"{file.path.parent.name}/{file.path.name}"] = file.path.read_bytes()
    for path in sorted((desk.folder.root / "rubrics").glob("*.yaml")):
        files[f"rubrics/{path.name}"] = path.read_bytes()
    manifest = "".join(f"{hashlib.sha256(raw).hexdigest()}  {name}\n" for name, raw in sorted(files.items()))
    return packed({**files, "MANIFEST.sha256": manifest.encode("ascii")})


def _cards(cards: Sequence[dict[str, Any]]) -> str:
    told = (
        f"card {item['card']}, on the hill {item['on_the_hill'] or 'at a time not written'}, typed in "
        f"{_moment(item['typed_in'])}"
        for item in cards
    )
    return "; ".join(told) or "no"
