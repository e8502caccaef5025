"""The bytes of a hand-edited file before any parser sees them: encoding, controls, first line."""

from __future__ import annotations

import re

from assess.records.errors import InputError, Problem

__all__ = ["FORMATS", "checked_text", "first_line_problems", "unshowable"]

# The newest format of each hand-edited file this version can read.
FORMATS = {
    "course": 1, "people": 1, "rubric": 1, "catalogue": 1, "lesson": 1, "quality": 1, "groups": 1, "round": 1,
    "reference": 1, "season": 1, "keys": 1, "public-key": 1,
}  # fmt: skip

# Practice lessons are passed on between people; what a file holds is told by its one key.
_MAY_BE_UNNAMED = frozenset({"lesson"})

# Everything a line of YAML may not hold as itself, and no value may hold even when escaped:
# controls, line breaks other editors do not count, byte order marks, halves of a pair.
_UNSHOWABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff\ud800-\udfff]")
_RAW = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]|\r(?!\n)")
_FIRST = re.compile(r"# assess ([a-z][a-z-]*) ([0-9]{1,6})[ \t]*\r?")
_MOST_LINES_NAMED = 20


def unshowable(text: str) -> str | None:
    """The first character of a value that no record may hold, as `U+0007`; None when there is none."""
    found = _UNSHOWABLE.search(text)
    return f"U+{ord(found[0]):04X}" if found else None


def checked_text(raw: bytes, shown: str) -> str:
    """The file as text. Raises InputError naming every line that is not clean UTF-8."""
    wide = _wide_encoding(raw)
    if wide:
        raise InputError([Problem(shown, 1, f"the file is written in {wide}", "save it again as UTF-8")])
    if raw.startswith(b"\xef\xbb\xbf"):
        what = "the file starts with a byte order mark"
        raise InputError([Problem(shown, 1, what, "save it as UTF-8 without a byte order mark (BOM)")])
    problems = _encoding_problems(raw, shown)
    if problems:
        raise InputError(problems)
    text = raw.decode("utf-8")
    problems = _control_problems(text, shown)
    if problems:
        raise InputError(problems)
    return text


def _wide_encoding(raw: bytes) -> str | None:
    if raw.startswith((b"\xff\xfe\x00\x00", b"\x00\x00\xfe\xff")):
        return "UTF-32"
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "UTF-16"
    # `# ` is how every such file begins; a NUL beside each letter tells a wide encoding without its mark.
    return "UTF-16" if raw[:4] in (b"#\x00 \x00", b"\x00#\x00 ") else None


def _encoding_problems(raw: bytes, shown: str) -> list[Problem]:
    problems = []
    for number, line in enumerate(raw.split(b"\n"), start=1):
        try:
            line.decode("utf-8")
        except UnicodeDecodeError as trouble:
            what = f"the byte {line[trouble.start]:#04x} is not UTF-8, another encoding is mixed in"
            problems.append(Problem(shown, number, what, "type the character again and save the file as UTF-8"))
    return problems[:_MOST_LINES_NAMED]


def _control_problems(text: str, shown: str) -> list[Problem]:
    problems, last = [], 0
    for found in _RAW.finditer(text):
        number = text.count("\n", 0, found.start()) + 1
        if number == last:
            continue
        last = number
        what = f"a character that cannot be seen, U+{ord(found[0]):04X}, stands in this line"
        problems.append(Problem(shown, number, what, "take it out"))
        if len(problems) == _MOST_LINES_NAMED:
            break
    return problems


def first_line_problems(text: str, what: str, shown: str) -> list[Problem]:
    """What is wrong with the line that tells a file's kind and format: missing, of another kind, or newer."""
    newest = FORMATS.get(what, 1)
    wanted = f"# assess {what} {newest}"
    first = _FIRST.fullmatch(text.split("\n", 1)[0])
    if not first and what in _MAY_BE_UNNAMED:
        return []
    if not first:
        return [Problem(shown, 1, "the line that says what this file is is missing", f"begin the file with `{wanted}`")]
    if first[1] != what:
        return [Problem(shown, 1, f"this is a {first[1]} file, not a {what} file", "name the right file")]
    if int(first[2]) > newest:
        return [Problem(shown, 1, "the file was written by a newer version", "update the tool")]
    if int(first[2]) < 1:
        return [Problem(shown, 1, "there is no such format", f"make `{wanted}` the first line")]
    return []
