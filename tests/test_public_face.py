"""What ``import designer`` offers, and what it costs."""

from __future__ import annotations

import subprocess
import sys

import pytest

import designer
from tests import house

#: the whole face, as agreed with users; those whose study is not written yet are not offered
AGREED = ("load", "characterise", "solve", "design", "check", "compare", "explain", "spread")


@pytest.mark.parametrize("name", designer.__all__)
def test_every_public_name_is_there_and_told(name):
    """All that is listed can be imported, is documented, and is a function."""
    function = getattr(designer, name)
    assert callable(function)
    assert function.__name__ == name
    assert function.__doc__


def test_the_list_is_what_is_importable():
    """Sorted, nothing else beside it, and only names that were agreed."""
    assert list(designer.__all__) == sorted(designer.__all__)
    assert dir(designer) == designer.__all__
    assert set(designer.__all__) <= set(AGREED)


def test_every_study_with_an_agreed_name_is_offered():
    """A new verb under studies/ joins the public face."""
    written = {path.stem for path in (house.PACKAGE / "studies").glob("*.py")}
    assert written & set(AGREED) <= set(designer.__all__)


def test_an_unknown_name_is_told_with_those_there_are():
    """A slip names what may be asked for."""
    with pytest.raises(AttributeError, match="designer has no 'sovle'; it has characterise, check, compare"):
        _ = designer.sovle  # type: ignore[attr-defined]


def test_importing_the_package_imports_no_library():
    """The public functions are loaded when used: ``import designer`` brings in none of the heavy libraries."""
    heavy = ("sympy", "numpy", "scipy", "pint", "pydantic", "jinja2", "matplotlib", "schemdraw")
    code = f"import designer, sys; print([name for name in {heavy} if name in sys.modules])"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"


def test_a_verb_that_only_explains_draws_nothing():
    """Plots and diagrams stay in their room: explaining a formula imports no drawing library."""
    code = "import designer, sys; designer.explain; print('matplotlib' in sys.modules, 'schemdraw' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False False"
