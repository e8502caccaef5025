"""A course on several devices, played by a seed: marked, locked, moderated, merged, bundled, broken off in the middle.

What must hold is asked at the end and on the way: every device comes to the same folder whatever the order of merging;
every entry that was said to be saved is still there; nobody was told anything of a sheet that was not theirs to read.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import random
import re
import shutil
import threading
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import asdict, dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

from assess.desk.checking import course_findings
from assess.desk.exporting import export_scores
from assess.desk.merging import merge_courses
from assess.desk.outcomes import results_json
from assess.desk.session import Desk
from assess.desk.settling import settle, versions_of
from assess.desk.verifying import verify
from assess.records.errors import Refusal, StorageTrouble
from assess.records.facts import Lock, Observation, Score, SomeFact
from assess.store.bundle import bundle_name, bundled_files, write_bundle
from assess.store.chain import CHAIN_DIGITS, chained, first_link, next_link
from assess.store.course_files import LEDGER_FOLDERS, base_stem, recorded_name
from assess.store.course_lock import course_lock
from assess.store.disk import Disk
from assess.store.ledger_file import parse_ledger, read_ledger
from assess.store.lines import decode_line, encode_line
from assess.store.merge import merge
from assess.store.seals import seal_of
from tests.desk import devices_deciding
from tests.desk.devices_deciding import BANDED, CRITERIA, criteria_of, deciding_told, decisions_hold
from tests.desk.devices_moderating import acts, directors_device, evening, moderation_told
from tests.store.course_maker import RUBRIC_NAME, heads, ledger_bytes, make_course, tree

Act = tuple[str, float, Callable[[], None]]

__all__ = ["LATER", "Device", "World", "begun", "played", "runs"]

DEVICES = ("d7h2k", "b3n8x", "k4r9t", "m5w2c", "p8z3f")
CANDIDATES = ("C01", "C02", "C03")
LOCKED = re.compile(rb'"kind": "lock".*, "chain": "[0-9a-f]{16}"\}(?:\n|$)')
LATER_KINDS = re.compile(
    rb'"kind": "(moderated|third-look|third-look-closed|lock|decision|repeat-offer|extra-slot|late-evidence)"'
)
BANDED_SHA = hashlib.sha256(BANDED).hexdigest()
Saved = tuple[str, int, str]


class QuickDisk(Disk):
    """Does not wait for the platters. With `dies_at` its n-th write, rename or removal and all after it fail."""

    def __init__(self, dies_at: int | None = None) -> None:
        self.left, self.dead = dies_at, False
        self._guard = threading.Lock()

    def _call(self) -> None:
        with self._guard:
            if self.left is not None:
                self.left -= 1
                self.dead = self.dead or self.left < 0
            if self.dead:
                raise OSError(errno.EIO, "no power")

    def write(self, fd: int, data: bytes) -> int:
        try:
            self._call()
        except OSError:
            if self.left == -1:
                # The power goes while a line is on its way.
                os.write(fd, data[: len(data) // 2])
            raise
        return super().write(fd, data)

    def replace(self, source: Path, target: Path) -> None:
        self._call()
        super().replace(source, target)

    def unlink(self, path: Path) -> None:
        self._call()
        super().unlink(path)

    def truncate(self, fd: int, size: int) -> None:
        self._call()
        super().truncate(fd, size)

    def fsync(self, fd: int) -> None:
        if self.dead:
            raise OSError(errno.EIO, "no power")

    def sync_folder(self, path: Path) -> None:
        if self.dead:
            raise OSError(errno.EIO, "no power")


@dataclass
class Clock:
    """A device's own clock: wrong by some hours, and set now and then."""

    ms: int

    def now_ms(self) -> int:
        # When a writer's thread asks is a matter of luck, and no time of a record.
        if threading.current_thread() is threading.main_thread():
            self.ms += 700
        return self.ms

    def monotonic_ms(self) -> int:
        return self.ms


@dataclass
class Device:
    """One copy of the course, with a name and a clock of its own."""

    root: Path
    name: str
    who: str
    clock: Clock


@dataclass
class World:
    """The devices of one course, and what they have said was saved. counts: how often each act was done."""

    base: Path
    chance: random.Random
    devices: list[Device]
    people: tuple[str, ...]
    saved: set[Saved] = field(default_factory=set)
    counts: dict[str, int] = field(default_factory=dict)
    notes: int = 0

    # --- sitting at a device ------------------------------------------------------------------------

    def desk(self, device: Device, who: str, disk: Disk | None = None) -> Desk:
        clock: Any = device.clock
        return Desk.open(
            device.root, who, clock=clock, device=device.name, disk=disk or QuickDisk(),
            salt=lambda: f"{self.chance.getrandbits(128):032x}",
        )  # fmt: skip

    def session(self, device: Device, who: str, act: Callable[[Desk], object], *, breaks: bool = False) -> bool:
        """Somebody sits down, acts, and leaves, or the power goes; true when something was acknowledged."""
        disk = QuickDisk(self.chance.randint(0, 6) if breaks else None)
        desk = self.desk(device, who, disk)
        if breaks:
            _one_by_one(desk, disk)
        # What the rules or the disk refuse is a result, and changes nothing.
        with contextlib.suppress(Refusal, StorageTrouble):
            act(desk)
        desk.close(0.01 if breaks else 5)
        before = len(self.saved)
        for live in desk.shelf._live.values():
            name = recorded_name(_folder(live.header.kind), live.name)
            self.saved |= {(name, entry.n, entry.chain) for entry in live.entries[: live.acknowledged]}
        return len(self.saved) > before

    def anybody(self) -> tuple[Device, str]:
        """A device and who sits at it: mostly its own person, now and then somebody whose device is dead."""
        device = self.chance.choice(self.devices)
        return device, device.who if self.chance.random() < 0.85 else self.chance.choice(self.people)

    def reading(self, device: Device, who: str) -> AbstractContextManager[Desk]:
        """Somebody's desk on a device for a look."""
        return _Reading(self, device, who)

    def quick(self) -> QuickDisk:
        """A disk on which nothing breaks."""
        return QuickDisk()

    # --- acts ---------------------------------------------------------------------------------------

    def mark(self, *, breaks: bool = False) -> None:
        device, who = self.anybody()

        def act(desk: Desk) -> None:
            for slot in self.chance.sample(self._mine(desk), k=min(2, len(self._mine(desk)))):
                sheet = desk.slot(slot.task, slot.candidate)
                for _ in range(self.chance.randint(1, 4)):
                    self._one_mark(sheet, who)

        self.session(device, who, act, breaks=breaks)

    def _mine(self, desk: Desk) -> list[Any]:
        return [slot for task in sorted({slot.task for slot in desk.course.allocation}) for slot in desk.mine(task)]

    def _one_mark(self, sheet: Any, who: str) -> None:
        criterion, what = self.chance.choice(sheet.criteria), self.chance.random()
        if what < 0.6:
            sheet.score(criterion, self.chance.randint(1, 6))
        elif what < 0.7:
            sheet.not_observed(criterion, self.chance.choice((None, "fog")))
        elif what < 0.9:
            sheet.note(self.secret(who), (criterion,))
        else:
            sheet.undo()

    def secret(self, who: str | None) -> str:
        """A note no other sheet has, and none that is the beginning of another."""
        self.notes += 1
        return f"secret-{who}-{self.notes}."

    def lock(self, *, breaks: bool = False) -> None:
        device, who = self.anybody()

        def act(desk: Desk) -> None:
            mine = [slot for slot in self._mine(desk) if not desk.locked(slot.task, slot.candidate, who)]
            if mine:
                slot = self.chance.choice(mine)
                sheet = desk.slot(slot.task, slot.candidate)
                for criterion in [hole.criterion for hole in sheet.holes() if hole.blocks and hole.criterion]:
                    sheet.score(criterion, self.chance.randint(1, 6))
                sheet.note(self.secret(who), sheet.criteria)
                sheet.lock()

        self.session(device, who, act, breaks=breaks)

    def day(self, *, breaks: bool = False) -> None:
        device, who = self.anybody()

        def act(desk: Desk) -> None:
            if self.chance.random() < 0.5:
                desk.day_book.interruption("wind", text="lift held")
            else:
                desk.day_book.bib_change(self.chance.choice(CANDIDATES), self.chance.randint(20, 29))

        self.session(device, who, act, breaks=breaks)

    def merge(self, *, breaks: bool = False) -> None:
        """Bring one device, or its person's bundle, into another; the disk may give up in the middle."""
        into, other = self.chance.sample(self.devices, 2)
        source = self.bundle(other) if self.chance.random() < 0.4 else other.root
        if breaks:
            try:
                merge(into.root, [source], disk=QuickDisk(self.chance.randint(0, 8)))
            except StorageTrouble:
                return
        elif self.chance.random() < 0.3:
            said = str(merge_courses(into.root, [source], into.who))
            with _Reading(self, into, into.who) as desk:
                self._no_secret(desk, said)
        else:
            merge(into.root, [source], disk=QuickDisk())

    def bundle(self, device: Device) -> Path:
        """The person's own records of a device, as a file that is handed over."""
        path = self.base / f"{device.root.name}.{bundle_name('K-1', device.who, device.name)}"
        write_bundle(bundled_files(device.root, "K-1", device.who, device.name), path)
        return path

    def clone(self) -> None:
        """The image of a device is put on another one, and both go on under its name: records that part."""
        if len({device.name for device in self.devices}) < len(self.devices):
            return
        device = self.chance.choice(self.devices)
        root = Path(shutil.copytree(device.root, self.base / f"{device.name}-again"))
        self.devices.append(Device(root, device.name, device.who, Clock(device.clock.ms + 977)))

    def merge_while_open(self) -> None:
        """Nothing comes into a course somebody is writing in."""
        into, other = self.chance.sample(self.devices, 2)
        before = tree(into.root)
        with course_lock(into.root, exclusive=False):
            try:
                merge(into.root, [other.root], disk=QuickDisk())
            except Refusal:
                assert tree(into.root) == before
                return
        raise AssertionError("a merge came into a course that was open")

    def settle(self) -> None:
        device, who = self.anybody()
        with _Reading(self, device, who) as desk:
            aside = {base_stem(name.rpartition("/")[2]): name for name in desk.folder.aside if ".torn" not in name}
            for record in sorted(aside):
                shown = aside[record].rpartition("/")[0] + f"/{record}"
                try:
                    versions = [each for each in versions_of(desk, shown) if each.usable]
                    settle(desk, shown, self.chance.choice(versions).name, "compared by both")
                except Refusal:
                    continue
                for live in desk.shelf._live.values():
                    self.saved |= {(live.name, entry.n, entry.chain) for entry in live.entries[: live.acknowledged]}
                return

    # --- what must hold -----------------------------------------------------------------------------

    def blind(self, seat: tuple[Device, str] | None = None) -> None:
        """Whatever others did on sheets that are not to be read, this person is told the same, byte for byte."""
        device, who = seat or self.anybody()
        one, two = (self.base / name for name in ("seen", "other"))
        for copy in (one, two):
            shutil.rmtree(copy, ignore_errors=True)
            shutil.copytree(device.root, copy)
            # Heads sealed elsewhere would tell a director that the other world's sheets are not these.
            shutil.rmtree(copy / "seals", ignore_errors=True)
        with _Reading(self, device, who) as desk:
            slots = [(slot.task, slot.candidate) for slot in desk.course.allocation]
            closed = [slot for slot in slots if any(not self._has_locked(desk, *slot, m) for m in desk.markers(*slot))]
            hidden = [(*slot, marker) for slot in closed for marker in desk.markers(*slot)]
            hidden += self._hidden_by_a_third_look(desk)
        for task, candidate, marker in hidden:
            if marker != who:
                self._otherwise(two / "sheets", task, candidate, marker)
        told = [self._told(copy, device, who) for copy in (one, two)]
        different = {name: (told[0][name], told[1][name]) for name in told[0] if told[0][name] != told[1][name]}
        assert different == {}, (who, hidden)

    def _hidden_by_a_third_look(self, desk: Desk) -> list[tuple[str, str, str]]:
        """A third sheet that is not locked; and for its marker the sheets of a slot it is mixed in with."""
        hidden = []
        for slot in desk.course.allocation:
            task, candidate = slot.task, slot.candidate
            for marker in desk.third_markers(task, candidate):
                if self._has_locked(desk, task, candidate, marker):
                    continue
                hidden.append((task, candidate, marker))
                rests = [*(desk.folder.root / "moderation").glob(f"{task}.{candidate}.*"),
                         *(desk.folder.root / "decisions").glob(f"{candidate}.*")]  # fmt: skip
                if marker == desk.who and not rests:
                    hidden += [(task, candidate, other) for other in desk.markers(task, candidate)]
        return hidden

    def _has_locked(self, desk: Desk, task: str, candidate: str, marker: str) -> bool:
        """True once they have said so, also in a file that is damaged now; half a line says nothing."""
        files = (desk.folder.root / "sheets").glob(f"{task}.{candidate}.{marker}.*.yaml")
        return desk.locked(task, candidate, marker) or any(LOCKED.search(path.read_bytes()) for path in files)

    def _otherwise(self, sheets: Path, task: str, candidate: str, marker: str) -> None:
        """Another record of that sheet in the place of this one: other marks, other notes, the same lock."""
        files = sorted(sheets.glob(f"{task}.{candidate}.{marker}.*")) if sheets.is_dir() else []
        usable = [path for path in files if "~" not in path.name and ".torn" not in path.name]
        if not usable:
            return
        locks = [path for path in files if LOCKED.search(path.read_bytes())]
        if len(locks) > 1 or (locks and locks[0] not in usable):
            return  # a lock in a version kept aside, or two of them: another world is not made in a few lines
        resting = _resting(sheets.parent, task, candidate)
        if any("~" in path.name or _named(path) for path in resting):
            return  # a moderation that was settled between versions is known by its bytes, which name the seal
        if _decided_on(sheets.parent, task, candidate, marker):
            return  # a decision names the heads of the sheets it rests on
        ledgers = [read_ledger(path) for path in usable]
        locked = any(file.ledger.locked for file in ledgers)
        header = next((f.ledger.header for f in ledgers if f.ledger.locked), ledgers[0].ledger.header)
        for path in files:
            path.unlink()
        facts: list[SomeFact] = [Score(criterion=c, level=self.chance.randint(1, 6)) for c in criteria_of(task)]
        facts += [Observation(text="of the other world", criteria=criteria_of(task))]
        raw = ledger_bytes(header, facts)
        if locked:
            sealed = {header.name: heads(raw)[-1]}
            seal = seal_of(sealed)
            raw = ledger_bytes(header, [*facts, Lock(heads=sealed, seal=seal)])
            was = {entry.fact.seal for f in ledgers for entry in f.ledger.entries if isinstance(entry.fact, Lock)}
            for path in resting:
                path.write_bytes(_resealed(path.read_bytes(), was, seal))
        (sheets / f"{header.name}.yaml").write_bytes(raw)

    def _told(self, root: Path, device: Device, who: str) -> dict[str, Any]:
        desk = Desk.open(root, who, device=device.name, disk=QuickDisk())
        told = {
            "board": asdict(desk.board()),
            "results": results_json(desk.outcomes()),
            "check": [(p.file, p.line, p.what) for p in course_findings(desk)],
            "verify": _verified(desk),
            "export": export_scores(desk).rows,
            **moderation_told(desk),
            **deciding_told(desk),
        }
        self._no_secret(desk, str(told))
        desk.close()
        return told

    def _no_secret(self, desk: Desk, said: str) -> None:
        """No note of another's sheet in a slot that is not open stands in what was said."""
        for task, candidate, marker in desk.shelf.sheet_keys():
            if not desk.sight.sheet(task, candidate, marker):
                for ledger in desk.shelf.sheet((task, candidate, marker)):
                    for entry in ledger.entries:
                        text = getattr(entry.fact, "text", None)
                        assert not text or text not in said, (desk.who, text)

    def joined(self) -> list[dict[str, bytes]]:
        """All devices brought together, each in an order of its own, some twice; the folders."""
        roots = [device.root for device in self.devices]
        ends = {root: Path(shutil.copytree(root, self.base / f"end-{root.name}")) for root in roots}
        for own, root in ends.items():
            others = [each for each in roots if each != own]
            order = [*others, *self.chance.sample(others, self.chance.randint(0, len(others)))]
            self.chance.shuffle(order)
            for other in order:
                merge(root, [other], disk=QuickDisk())
            before = tree(root)
            merge(root, others, disk=QuickDisk())
            assert tree(root) == before, "merging again changed something"
        return [{name: raw for name, raw in tree(root).items() if not _of_this_device(name)} for root in ends.values()]

    def nothing_lost(self, end: dict[str, bytes]) -> None:
        """Every entry that was acknowledged on any device is in some version of its record."""
        there: set[Saved] = set()
        for path, raw in end.items():
            folder, _, name = path.rpartition("/")
            if folder in LEDGER_FOLDERS and name.endswith(".yaml"):
                record = recorded_name(folder, base_stem(name))
                ledger = parse_ledger(raw, base_stem(name)).ledger
                there |= {(record, entry.n, entry.chain) for entry in ledger.entries}
        lost = self.saved - there
        assert not lost, sorted(lost)[:5]


def _one_by_one(desk: Desk, disk: QuickDisk) -> None:
    """Every entry is on the disk, or the power is gone, before the next: a seed breaks at the same place each time."""
    write = desk.append

    def append(live: Any, fact: SomeFact) -> Any:
        entry = write(live, fact)
        while not disk.dead and not desk._writer.drain(0.05):
            pass
        return entry

    desk.append = append  # type: ignore[method-assign]


def _resting(root: Path, task: str, candidate: str) -> list[Path]:
    """The moderations of a slot: each names the seals of the locked sheets it rests on."""
    return sorted((root / "moderation").glob(f"{task}.{candidate}.*.yaml"))


def _named(path: Path) -> bool:
    """True when a day names this record by its head, as somebody does who settles its versions."""
    name = f'"{path.parent.name}/{path.name}'.removesuffix(".yaml").encode()
    return any(name in day.read_bytes() for day in (path.parent.parent / "days").glob("*.yaml"))


def _decided_on(root: Path, task: str, candidate: str, marker: str) -> bool:
    """True when a decision on the candidate, or what stands beside it, names this sheet by its head."""
    name = f'"{task}.{candidate}.{marker}.'.encode()
    return any(name in path.read_bytes() for path in (root / "decisions").glob(f"{candidate}.*"))


def _resealed(raw: bytes, was: set[str], seal: str) -> bytes:
    """The same ledger, written about another lock: its seal in the place of the one that was, and a chain that fits."""
    for old in was:
        raw = raw.replace(old.encode(), seal.encode())
    head, *lines = re.split(rb"^(?=- )", raw, flags=re.MULTILINE)
    link, out = first_link(head), head
    for line in lines:
        if not line.endswith(b"\n"):
            return out + line  # cut short when the power went
        payload = decode_line(line.rstrip(b"\n"))
        link = next_link(link, chained(payload))
        out += encode_line({**payload, "chain": link[:CHAIN_DIGITS]})
    return out


def _of_this_device(name: str) -> bool:
    """What a crash leaves and nobody reads: a line cut short that was kept, a file that never got its name."""
    return ".torn-" in name or name.rpartition("/")[2].startswith(".")


def _verified(desk: Desk) -> Any:
    found = verify(desk)
    return (found.records, found.not_anchored, found.missing, found.problems)


def _folder(kind: str) -> str:
    return next(folder for folder, held in LEDGER_FOLDERS.items() if held == kind)


class _Reading:
    """A desk for a look; it is closed at the end."""

    def __init__(self, world: World, device: Device, who: str) -> None:
        self.world, self.device, self.who = world, device, who

    def __enter__(self) -> Desk:
        self.desk = self.world.desk(self.device, self.who)
        return self.desk

    def __exit__(self, *_: object) -> None:
        self.desk.close()


LATER: list[Callable[[World], None]] = []
"""Acts of later steps that are played with the others; a test of such a step adds its own here."""


def played(base: Path, seed: int, devices: int) -> World:
    """One course played to its end on so many devices, with everything asked that must hold."""
    world = begun(base, seed, devices)
    meeting = [*acts(world), *devices_deciding.acts(world, directors_device)]
    marking: list[Act] = [
        ("mark", 10, world.mark),
        ("lock", 6, world.lock),
        ("day", 1, world.day),
        ("merge", 5, world.merge),
        ("mark, broken off", 2, lambda: world.mark(breaks=True)),
        ("lock, broken off", 1, lambda: world.lock(breaks=True)),
        ("merge, broken off", 2, lambda: world.merge(breaks=True)),
        ("merge while open", 0.5, world.merge_while_open),
        ("settle", 1, world.settle),
        ("clone", 0.5, world.clone),
        *(("later", 1, partial(act, world)) for act in LATER),
    ]
    # First mostly marks, then mostly the meeting; both go on beside each other all the time.
    _play(world, [*marking, *(_rarely(act) for act in meeting)], world.chance.randint(5 * devices, 7 * devices))
    evening(world)
    _play(world, [*(_rarely(act) for act in marking), *meeting], world.chance.randint(5 * devices, 7 * devices))
    world.blind()
    ends = world.joined()
    assert all(end == ends[0] for end in ends), [sorted(set(end) ^ set(ends[0])) for end in ends]
    world.nothing_lost(ends[0])
    whole = Path(world.base / f"end-{world.devices[0].root.name}")
    with contextlib.closing(Desk.open(whole, "D1", device="z9z9z", disk=QuickDisk())) as desk:
        world.counts["decisions worked out again"] = decisions_hold(desk, ends[0])
    world.counts["entries saved"] = len(world.saved)
    written = Counter(kind.decode() for raw in ends[0].values() for kind in LATER_KINDS.findall(raw))
    world.counts |= {f"entries of kind {kind}": times for kind, times in written.items()}
    world.counts["versions kept aside"] = sum("~" in path for path in ends[0])
    return world


def _play(world: World, doing: list[Act], steps: int) -> None:
    names, weights, does = zip(*doing, strict=True)
    for step in range(steps):
        number = world.chance.choices(range(len(names)), weights)[0]
        world.counts[names[number]] = world.counts.get(names[number], 0) + 1
        does[number]()
        if step % 12 == 7:
            world.blind()


def _rarely(act: Act) -> Act:
    name, weight, do = act
    # Copies go on being merged as often as before.
    return name, weight if name.startswith("merge") else weight / 4, do


def begun(base: Path, seed: int, devices: int) -> World:
    """A course on so many devices, before anybody did anything."""
    chance = random.Random(f"{seed} {devices}")
    # On two devices more than two people work: a director, and somebody fresh for a third look.
    people = ("A1", "A2", "A3", "A4", "D1") if devices > 2 else ("A1", chance.choice(("A2", "D1")), "A2", "A3", "D1")
    everybody = tuple(sorted(set(people)))
    first = make_course(base / DEVICES[0], course=_course(everybody, chance), people=_people(everybody), rubric=BANDED)
    (first / "rubrics" / RUBRIC_NAME).rename(first / "rubrics" / f"r-1@{BANDED_SHA[:8]}.yaml")
    made = []
    for name, who in zip(DEVICES[:devices], people[:devices], strict=True):
        root = first if name == DEVICES[0] else Path(shutil.copytree(first, base / name))
        made.append(Device(root, name, who, Clock(1_801_645_200_000 + chance.randint(-7_200_000, 7_200_000))))
    return World(base, chance, made, tuple(dict.fromkeys(people)))


def _course(people: tuple[str, ...], chance: random.Random) -> str:
    assessors = [who for who in people if who.startswith("A")]
    slots = [
        f"- {{task: {task}, order: {place}, candidate: {candidate}, assessors: [{pair}]}}"
        for task in CRITERIA
        for place, candidate in enumerate(CANDIDATES, start=1)
        for pair in [", ".join(chance.sample(assessors, 2))]
    ]
    return "\n".join(
        [
            "# assess course 1", "id: K-1", "revision: 1", "title: Played", "activity: gliding",
            "days: [2027-02-03, 2027-02-04]", "rubrics:",
            *(f"- {{area: {area}, rubric: r-1, sha256: {BANDED_SHA}}}" for area in ("demo", "teach")),
            "tasks:", "- {id: T1, area: demo, day: 1}", "- {id: T4, area: teach, day: 1}",
            f"candidates: [{', '.join(CANDIDATES)}]", f"assessors: [{', '.join(assessors)}]", "directors: [D1]",
            "allocation:", *slots, "events:",
            '- {day: 1, at: "15:20", kind: release, by: D1, to: assessors, modules: all}', "",
        ]
    )  # fmt: skip


def _people(people: tuple[str, ...]) -> str:
    assessors = [who for who in people if who.startswith("A")]
    return "\n".join(
        [
            "# assess people 1", "revision: 1", "candidates:",
            *(f"- {{id: {c}, name: Person {c}, bib: {20 + n}}}" for n, c in enumerate(CANDIDATES)),
            "assessors:", *(f"- {{id: {who}, name: Marker {who}}}" for who in assessors),
            "directors:", "- {id: D1, name: Director One}", "",
        ]
    )  # fmt: skip


def runs(base: Path, devices: int, first: int, count: int) -> Iterator[World]:
    """So many courses, one after the other; what one leaves on the disk is taken away before the next."""
    for seed in range(first, first + count):
        folder = base / f"{devices}-{seed}"
        folder.mkdir(parents=True)
        yield played(folder, seed, devices)
        shutil.rmtree(folder)
