"""Somebody at the bench: runs the check, reads what to do, does it, and runs the check again."""

import json
import re
from dataclasses import dataclass
from pathlib import Path as File
from shutil import copytree

import numpy as np

from tests.commands.blunders.plan import CUTTER, DRILL, Plan, datum, job_text, write_programs
from tests.commands.blunders.plant import Blunder
from tests.commands.command import checked_once, run

__all__ = ["Told", "mended", "pair_trial", "said_badly", "trial"]


@dataclass(frozen=True)
class Told:
    """One check as it can be run: its folder, its options, and what came out."""

    folder: File
    arguments: tuple[str, ...]
    status: int
    text: str
    report: dict[str, object]

    @property
    def remedies(self) -> list[dict[str, object]]:
        return self.report.get("remedies", [])  # type: ignore[return-value]


def trial(made: Plan, told: Plan, folder: File, blunder: Blunder | None, rng: np.random.Generator) -> Told:
    """Write a job and check it."""
    folder.mkdir(parents=True)
    files = write_programs(made, folder)
    if blunder is not None and blunder.edit is not None:
        blunder.edit(files, rng)
    (folder / "job.toml").write_text(job_text(told, files))
    return _checked(folder, ("check", str(folder / "job.toml"), "--full"))


def pair_trial(made: Plan, told: Plan, folder: File, blunder: Blunder | None, rng: np.random.Generator) -> Told:
    """Write the programs and check them without a job file."""
    folder.mkdir(parents=True)
    files = write_programs(made, folder)
    if blunder is not None and blunder.edit is not None:
        blunder.edit(files, rng)
    x, y = datum(told)
    names = [*files["front"], *files["back"]]
    tools = [part for file in names for part in ("--tool", str(DRILL if "holes" in file.name else CUTTER))]
    front, back = map(str, files["front"]), map(str, files["back"])
    told_as = ("--axis", _axis(told), "--datum", f"{x:.4f},{y:.4f}")
    return _checked(folder, ("check", "--front", *front, "--back", *back, *told_as, "--tolerance", "0.2", *tools))


def _axis(plan: Plan) -> str:
    """Return the axis in the front program's frame, which may be turned on the table together with the back's."""
    turned = plan.front.axes() @ np.linalg.inv(plan.back.axes())
    return "y" if turned[0, 0] < 0 else "x"


def _checked(folder: File, arguments: tuple[str, ...], *, in_words: bool = True) -> Told:
    # The same check is told in both ways.
    with checked_once():
        status, out, err = run([*arguments, "--json"])
        if status == 2 or not in_words:
            return Told(folder, arguments, status, err, json.loads(out or "{}"))
        again, text, _ = run(list(arguments))
    assert again == status
    return Told(folder, arguments, status, " ".join(text.decode().split()), json.loads(out))


def mended(told: Told, remedy: dict[str, object], way: dict[str, object]) -> Told:
    """Do what one way of one remedy says, in a copy of the folder, and check again.

    Where the report tells of several mistakes that add up, the others are mended in the first way it names.
    """
    copies = len(list(told.folder.parent.glob(f"{told.folder.name}-mended-*")))
    folder = File(copytree(told.folder, told.folder.parent / f"{told.folder.name}-mended-{copies}"))
    arguments = [part.replace(str(told.folder), str(folder)) for part in told.arguments]
    others = {one["group"]: one for one in reversed(told.remedies) if one["group"] != remedy["group"]}
    changes = [change for one in others.values() for change in one["ways"][0]["changes"]]  # type: ignore[index]
    for change in [*changes, *way["changes"]]:  # type: ignore[misc]
        arguments = _done(change, folder, arguments)
    return _checked(folder, tuple(arguments), in_words=False)


def _done(change: dict[str, object], folder: File, arguments: list[str]) -> list[str]:
    values: dict[str, object] = change["set"]  # type: ignore[assignment]
    if change["of"] == "check":
        arguments = list(arguments)
        arguments[arguments.index("--axis") + 1] = str(values["axis"])
        arguments[arguments.index("--datum") + 1] = ",".join(map(str, values["datum_mm"]))  # type: ignore[call-overload]
    elif change["of"] == "programs":
        for name in change["names"]:  # type: ignore[attr-defined]
            _edited(folder / File(name).name, values)
    else:
        job = folder / "job.toml"
        job.write_text(_with_keys(job.read_text(), change))
    return arguments


def _edited(file: File, values: dict[str, object]) -> None:
    text = file.read_text()
    if "unit" in values:
        assert text[:3] in ("G20", "G21")
        file.write_text({"mm": "G21", "inch": "G20"}[str(values["unit"])] + text[3:])
    if "flip" in values:
        axis, (x, y) = values["flip"]["axis"], values["flip"]["datum_mm"]  # type: ignore[index]
        _produce(file, ["flip", str(file), "--axis", axis, "--datum", f"{x},{y}"])
    if "turn_deg" in values or "by_mm" in values:
        turn, by = values.get("turn_deg", 0.0), values.get("by_mm", (0.0, 0.0, 0.0))
        _produce(file, ["shift", str(file), "--by", ",".join(map(str, by)), "--turn", str(turn)])  # type: ignore[call-overload]


def _produce(file: File, arguments: list[str]) -> None:
    status, out, err = run(arguments)
    assert status == 0, err
    # The generator's programs begin with the unit; a header goes before it.
    text = out.decode()
    head = re.search(r"^G2[01]$", text, re.MULTILINE)
    assert head is not None
    file.write_text(text[head.start() :])


def _with_keys(text: str, change: dict[str, object]) -> str:
    if change["of"] == "job":
        for key, value in change["set"].items():  # type: ignore[attr-defined]
            text, count = re.subn(rf"(?m)^{key} = .*$", f"{key} = {json.dumps(value)}", text, count=1)
            assert count == 1
        return text
    names: list[str] = change["names"]  # type: ignore[assignment]
    (name,) = names
    blocks = text.split("[[setups]]")
    for number, block in enumerate(blocks[1:], 1):
        if f'name = "{name}"' in block:
            for key, value in change["set"].items():  # type: ignore[attr-defined]
                block, count = re.subn(rf"(?m)^{key} = .*$", f"{key} = {json.dumps(value)}", block, count=1)
                assert count == 1, key
            blocks[number] = block
    return "[[setups]]".join(blocks)


_UGLY = (
    (re.compile(r"\.\.(?!\.)"), "two full stops"),
    (re.compile(r"\de[-+]\d"), "a number in powers of ten"),
    (re.compile(r"(?<![\w.])-0(\.0+)?(?![\w.])"), "minus nothing"),
    (re.compile(r"\b1 (shared )?(holes|outlines)\b"), "one in the plural"),
    (re.compile(r"register, fails:[^.]*differ by at most 0\.000 mm"), "fails by nothing"),
)


def said_badly(text: str) -> list[str]:
    """Return what is wrong with the wording of a report."""
    found = [what for pattern, what in _UGLY if pattern.search(text)]
    sentences = [part.strip() for part in re.split(r"(?<=[a-z0-9)])\.\s", text) if len(part.strip()) > 40]
    found += [f"said twice: {part}" for part in set(sentences) if sentences.count(part) > 1]
    return found
