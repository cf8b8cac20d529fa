"""The verb that tells formulas."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import xml.etree.ElementTree as ET

import pytest
import sympy as sp

from designer.equations import Formula, all_formulas, var
from designer.equations.motor import COPPER_RESISTANCE
from designer.errors import InputError
from designer.studies.explain import explain, explain_json, listing, solved_forms

every_formula = pytest.mark.parametrize("name", all_formulas())


def test_the_list_names_every_formula_once():
    """Without a name, each formula stands on one line with its equation."""
    lines = [line.strip() for line in listing().splitlines()]
    for name, formula in all_formulas().items():
        assert len([line for line in lines if line.startswith(f"{name} ")]) == 1
        assert any(line.endswith(formula.text()) for line in lines)


@every_formula
def test_each_is_told_whole(name):
    """Equation, every symbol with unit and meaning, validity and source are all there."""
    formula = all_formulas()[name]
    told = explain(name)
    flat = " ".join(told.split())
    assert formula.text() in told
    for v in formula.variables:
        assert " ".join((v.source if v.value is not None else v.meaning).split()) in flat
    assert " ".join(formula.source.split()) in flat
    assert " ".join(formula.holds_when.split()) in flat


def test_every_run_prints_the_same():
    """Terms stand in the same order whatever the hash seed: reports are compared byte by byte."""
    code = "from designer.studies.explain import listing; print(listing())"
    told = {
        subprocess.run([sys.executable, "-c", code], env=os.environ | {"PYTHONHASHSEED": seed, "PYTHONUTF8": "1"},
                       capture_output=True, check=True).stdout
        for seed in ("1", "2", "3")
    }
    assert len(told) == 1


def test_copper_is_told_as_a_reader_expects():
    """The page of one formula, block by block."""
    told = explain("copper-resistance").rstrip().split("\n\n")
    assert told[0] == "copper-resistance"
    assert told[1] == "  R = R_ref × (T − θ_Cu)/(T_ref − θ_Cu)"
    assert told[-1].splitlines() == [
        "Solved for the others",
        "  R_ref = R × (T_ref − θ_Cu)/(T − θ_Cu)",
        "  T = R × (T_ref − θ_Cu)/R_ref + θ_Cu",
        "  T_ref = R_ref × (T − θ_Cu)/R + θ_Cu",
    ]


@pytest.mark.parametrize("tell", [explain, explain_json])
def test_an_unknown_name_gets_the_nearest(tell):
    """A slip is answered with the name that was meant."""
    with pytest.raises(InputError, match="formula: found 'coper-resistence', allowed the name of a formula. "
                                         r"Did you mean copper-resistance\?"):
        tell("coper-resistence")


def test_a_name_like_none_is_answered_with_the_way_to_the_list():
    """Where nothing is near, the list is pointed to."""
    with pytest.raises(InputError, match=r"found '\?', .* brushbench explain lists them all"):
        explain("?")


def test_json_is_plain_and_whole():
    """Both shapes survive JSON; one formula has its solved forms, the list leaves them out."""
    every = json.loads(json.dumps(explain_json(None)))
    assert [record["name"] for record in every["formulas"]] == list(all_formulas())
    assert every["format"] == 1
    for record in every["formulas"]:
        ET.fromstring(record["mathml"])
        assert [symbol["role"] for symbol in record["symbols"]].count("result") == 1
    one = explain_json("copper-resistance")["formulas"][0]
    assert one["solved_for"]["R_ref"] == ["R × (T_ref − θ_Cu)/(T − θ_Cu)"]
    assert one["constants"][0]["value"] == COPPER_RESISTANCE.constants[0].value


@every_formula
def test_solved_forms_give_the_inputs_again(name):
    """Put back into the formula, each solved form is the inverse (derived: by substitution)."""
    formula = all_formulas()[name]
    numbers = {v.symbol: 0.4 + 0.07 * place for place, v in enumerate(formula.inputs)}
    numbers |= {v.symbol: v.value for v in formula.constants}
    result = complex(formula.equation.rhs.evalf(subs=numbers))
    if result.imag or not math.isfinite(result.real):
        return
    numbers[formula.result.symbol] = result.real
    for v, forms in solved_forms(formula):
        values = [complex(form.evalf(subs=numbers)) for form in forms]
        assert any(abs(value - numbers[v.symbol]) < 1e-6 for value in values)


X = var("x", "1", "number")
A = var("a", "1", "number", sign="positive")
Y = var("y", "1", "number")


@pytest.mark.parametrize(("rhs", "expected"), [
    (A.symbol * X.symbol**2, ["√(y/a)", "−√(y/a)"]),
    (A.symbol * sp.cos(X.symbol), ["arccos(y/a)"]),
    (A.symbol * sp.exp(-X.symbol), ["−ln(y/a)"]),
    (sp.Max(X.symbol, A.symbol), []),
    (sp.Piecewise((X.symbol, X.symbol > A.symbol), (A.symbol, True)), []),
    (X.symbol * sp.cos(X.symbol) + A.symbol, []),
])
def test_only_what_has_a_closed_form_is_solved(rhs, expected):
    """Roots of both signs, inverse functions; no guess where a branch or two places stand in the way."""
    made = Formula(name="sample", equation=sp.Eq(Y.symbol, rhs), variables=(Y, A, X),
                   source="derived: for this test", holds_when="always")
    found = {v.name: [made.written(form) for form in forms] for v, forms in solved_forms(made)}
    assert found.get("x", []) == expected
