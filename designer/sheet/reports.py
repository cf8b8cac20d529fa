"""Make the sample sheets: ``python -m designer.sheet.reports [FOLDER]``, by default into reports/.

Each project file under examples/ gives ``NAME.html`` and ``NAME-parts.csv``. A test makes them again
in memory and compares, so that they cannot age unseen.
"""

from __future__ import annotations

import sys
from pathlib import Path

from designer.project.loading import load
from designer.sheet import build_sheet, parts_csv
from designer.studies.design import design

EXAMPLES = Path(__file__).parents[1] / "examples"


def examples() -> tuple[Path, ...]:
    """The project files of our own scenarios, by name."""
    return tuple(sorted(EXAMPLES.glob("*.toml")))


def report(example: Path) -> dict[str, str]:
    """Design one example and give its files as text, by file name.

    Raises ``InputErrors`` where the example cannot be read as a design.
    """
    made = design(load(example, "design"))
    return {f"{example.stem}.html": build_sheet(made), f"{example.stem}-parts.csv": parts_csv(made)}


def main(arguments: list[str]) -> int:
    """Write the sheets of all examples into a folder and name each file; gives the exit status."""
    folder = Path(arguments[0] if arguments else "reports")
    folder.mkdir(exist_ok=True)
    for example in examples():
        for name, text in report(example).items():
            (folder / name).write_text(text, encoding="utf-8", newline="")
            sys.stdout.write(f"{folder / name}\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
