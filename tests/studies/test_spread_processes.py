"""The same seed gives the same bytes in another process, whatever its hash seed, locale, zone and folder are."""

import os
import subprocess
import sys
from pathlib import Path

import designer

EXAMPLE = Path(designer.__file__).parent / "examples" / "garden-cart.toml"
SURROUNDINGS = (
    {"PYTHONHASHSEED": "1", "LC_ALL": "C", "LANG": "C", "TZ": "UTC"},
    {"PYTHONHASHSEED": "40961", "LC_ALL": "de_DE.UTF-8", "LANG": "de_DE.UTF-8", "TZ": "Pacific/Kiritimati"},
)


def _run(folder, given):
    """Standard output of ``tolerance`` and the bytes of what it writes, from a process started in ``folder``."""
    folder.mkdir()
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("LC_", "LANG", "TZ"))}
    done = subprocess.run(
        [sys.executable, "-m", "designer", "tolerance", str(EXAMPLE), "--samples", "120", "--seed", "5",
         "-o", "spread.html", "--json", "spread.json"],
        cwd=folder, env=kept | given | {"PYTHONPATH": str(Path(designer.__file__).parents[1])}, capture_output=True,
        check=False)
    assert done.returncode in (0, 1), done.stderr.decode()
    return done.stdout, {one.name: one.read_bytes() for one in folder.iterdir()}


def test_two_processes_write_the_same_bytes(tmp_path):
    """Nothing printed or written, page or JSON, hangs on hash order, locale, zone or folder."""
    first, second = (_run(tmp_path / f"{n}", given) for n, given in enumerate(SURROUNDINGS))
    assert first == second
    assert set(first[1]) == {"spread.html", "spread.json"}
