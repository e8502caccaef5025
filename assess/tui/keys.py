"""Which key does what: the default keys of the acts, changed by a keymap, checked for what cannot work."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from assess.records.errors import UsageError
from assess.tui.acts import ACTS, PLACES, Act, acts_at

__all__ = ["PAD", "Keys", "key_named", "key_shown", "normal_key", "problems_of"]

_SIGNS = {
    "full_stop": ".", "comma": ",", "plus": "+", "minus": "-", "asterisk": "*", "slash": "/", "equals_sign": "=",
    "question_mark": "?", "space": "Space", "enter": "Enter", "escape": "Esc", "tab": "Tab", "up": "Up",
    "down": "Down", "left": "Left", "right": "Right", "pageup": "PgUp", "pagedown": "PgDn", "backspace": "Backspace",
    "delete": "Del", "colon": ":", "semicolon": ";", "apostrophe": "'", "quotation_mark": '"', "underscore": "_",
    "exclamation_mark": "!", "left_square_bracket": "[", "right_square_bracket": "]", "backslash": "\\",
    "less_than_sign": "<", "greater_than_sign": ">", "number_sign": "#", "at": "@", "grave_accent": "`",
    "dollar_sign": "$", "percent_sign": "%", "circumflex_accent": "^", "ampersand": "&", "tilde": "~",
    "left_parenthesis": "(", "right_parenthesis": ")", "left_curly_bracket": "{", "right_curly_bracket": "}",
    "vertical_line": "|",
}  # fmt: skip
_NAMES = {sign.lower(): name for name, sign in _SIGNS.items()} | {"esc": "escape", "return": "enter"}
# Terminals that tell the pad's keys apart name them so; the pad is to do what the same signs do.
_PAD_NAMES = {
    "decimal": "full_stop", "divide": "slash", "multiply": "asterisk", "subtract": "minus", "add": "plus",
    "equal": "equals_sign", "separator": "comma",
}  # fmt: skip
PAD = frozenset({*"0123456789", "full_stop", "plus", "minus", "asterisk", "slash", "enter"})
_SHIFTED = frozenset('!@#$%^&()_{}|:"<>?~')
_EATEN = {
    "ctrl+i": "terminals send it as Tab",
    "ctrl+m": "terminals send it as Enter",
    "ctrl+j": "terminals send it as a new line",
    "ctrl+h": "terminals send it as Backspace",
    "ctrl+[": "terminals send it as Esc",
    "ctrl+left_square_bracket": "terminals send it as Esc",
    "ctrl+a": "screen takes it as its prefix",
    "ctrl+b": "tmux takes it as its prefix",
    "ctrl+s": "it stops the terminal's output",
    "ctrl+q": "it restarts the terminal's output, and leaves the program",
    "ctrl+z": "it suspends the program",
    "ctrl+c": "it interrupts, or copies",
    "ctrl+d": "it ends the input",
    "ctrl+backslash": "it ends the program",
    "f11": "windows take it for the full screen",
}


def key_named(text: str) -> str:
    """The key a person means by `.`, `+`, `Esc`, `g`, `ctrl+t`; digits and letters are themselves."""
    plain = text.strip()
    return _NAMES.get(plain.lower(), plain if len(plain) == 1 else plain.lower())


def key_shown(key: str) -> str:
    """A key as it is written on screens: `.`, `Enter`, `F1`, `ctrl+p`."""
    return _SIGNS.get(key, key.upper() if key[0] == "f" and key[1:].isdigit() else key)


def normal_key(key: str) -> str:
    """The key of an event, the pad's own names taken for the same signs."""
    return _PAD_NAMES.get(key, key)


def _fault_of(key: str) -> str:
    if key in _EATEN:
        return f"{key_shown(key)}: {_EATEN[key]}"
    if "shift+" in key or (len(key) == 1 and key.isalpha() and key != key.lower()):
        return f"{key_shown(key)}: it needs Shift, and a glove misses Shift"
    return ""


def _bare(key: str) -> bool:
    return "+" not in key and _SIGNS.get(key, key) not in _SHIFTED


def problems_of(keys: Mapping[str, Sequence[str]]) -> list[str]:
    """What is wrong with the keys of the acts, one sentence each; empty when nothing is.

    keys: act id -> its keys.
    """
    found = []
    for item in ACTS:
        mine = keys[item.id]
        faults = [fault for key in mine if (fault := _fault_of(key))]
        found += [f"{item.id}: {fault}" for fault in faults]
        if not mine:
            found.append(f"{item.id}: no key is left for it")
        elif not faults and not any(_bare(key) for key in mine):
            shown = ", ".join(key_shown(key) for key in mine)
            found.append(f"{item.id}: {shown} alone needs Shift, ctrl or alt; give it a bare key too")
    for place in PLACES:
        taken: dict[str, str] = {}
        for item in acts_at(place):
            for key in keys[item.id]:
                if key in taken and taken[key] != item.id:
                    clash = f"{key_shown(key)} is both {taken[key]} and {item.id}"
                    found += [clash] if clash not in found else []
                taken.setdefault(key, item.id)
    return found


@dataclass(frozen=True)
class Keys:
    """The keys in force: act id -> keys, checked."""

    by_act: Mapping[str, tuple[str, ...]]

    @classmethod
    def with_changes(cls, keymap: Mapping[str, str | Sequence[str]] | None = None) -> Keys:
        """The default keys with those of a keymap (act id -> key or keys) in place of the acts' own.

        Raises UsageError naming every clash, unknown act, shifted or eaten key.
        """
        by_act: dict[str, tuple[str, ...]] = {item.id: item.keys for item in ACTS}
        unknown = []
        for ident, given in (keymap or {}).items():
            wanted = given.split() if isinstance(given, str) else given
            if ident in by_act:
                by_act[ident] = tuple(key_named(key) for key in wanted)
            else:
                unknown.append(f"{ident} is no act")
        problems = [*unknown, *problems_of(by_act)]
        if problems:
            raise UsageError("the keys cannot be used: " + "; ".join(problems), todo="change them in the keymap")
        return cls(by_act)

    def of(self, item: Act) -> tuple[str, ...]:
        """The keys of an act."""
        return self.by_act[item.id]

    def at(self, place: str, key: str) -> Act | None:
        """The act a key does at a place, or None."""
        return next((item for item in acts_at(place) if key in self.by_act[item.id]), None)

    def shown(self, item: Act) -> str:
        """The act's keys in a few signs: `1-9`, `u *`."""
        keys = self.by_act[item.id]
        if len(keys) > 3 and keys == tuple("123456789"):
            return "1-9"
        return " ".join(key_shown(key) for key in keys)

    def first(self, item: Act) -> str:
        """The act's first key as it is written."""
        return key_shown(self.by_act[item.id][0])

    def on_pad(self, item: Act) -> bool:
        """True when one of the act's keys is on a bare numeric pad."""
        return any(key in PAD for key in self.by_act[item.id])
