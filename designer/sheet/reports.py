"""Make the sample sheets: ``python -m designer.sheet.reports [FOLDER]``, by default into reports/.

Each project file under examples/ gives ``NAME.html``, and with a circuit also ``NAME-parts.csv``; one that
has pins alone gives its pinout; a ready one whose speed a loop holds gives its program's files too. Those of
``COMPARED`` also give ``compare-NAME.html``, every circuit on the job. A test makes them again in memory and
compares, so that they cannot age unseen.
"""

from __future__ import annotations

import sys
from pathlib import Path

from designer.project.loading import load
from designer.sheet import parts_csv
from designer.sheet.compare_page import build_compare
from designer.sheet.files import files_of
from designer.sheet.pinout_page import build_pinout
from designer.studies.compare import compare
from designer.studies.design import design
from designer.studies.pinout import pinout

EXAMPLES = Path(__file__).parents[1] / "examples"
COMPARED = ("coil-winder",)     # examples whose job is also held against every circuit


def examples() -> tuple[Path, ...]:
    """The project files of our own scenarios, by name."""
    return tuple(sorted(EXAMPLES.glob("*.toml")))


def verb_of(example: Path) -> str:
    """The verb that an example is for: ``design`` with a circuit, ``pinout`` with pins alone."""
    project = load(example)
    return "pinout" if project.pins and project.circuit.kind is None else "design"


def report(example: Path) -> dict[str, str]:
    """Design one example, or label its pins, and give its files as text, by file name.

    Raises ``InputErrors`` where the example cannot be read as what it is for.
    """
    if verb_of(example) == "pinout":
        return {f"{example.stem}.html": build_pinout(pinout(load(example, "pinout")))}
    made = design(load(example, "design"))
    files, _ = files_of(made, Path(f"{example.stem}.html"))
    return {f"{example.stem}-parts.csv": parts_csv(made)} | {path.name: text for path, text in files}


def comparison(example: Path) -> dict[str, str]:
    """Hold the job of one example against every circuit: the page as text, by file name; nothing of the others.

    Raises ``InputErrors`` where keys are missing that every circuit needs.
    """
    if example.stem not in COMPARED:
        return {}
    return {f"compare-{example.stem}.html": build_compare(compare(load(example, "compare")))}


def main(arguments: list[str]) -> int:
    """Write the sheets of all examples into a folder and name each file; gives the exit status."""
    folder = Path(arguments[0] if arguments else "reports")
    folder.mkdir(exist_ok=True)
    for example in examples():
        for name, text in (report(example) | comparison(example)).items():
            (folder / name).write_text(text, encoding="utf-8", newline="")
            sys.stdout.write(f"{folder / name}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
