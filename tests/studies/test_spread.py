"""Tolerance of whole designs: shares, seeds, the file's table, networks, corners. Sources named where numbers are."""

import html
import json
import math
from pathlib import Path

import numpy as np
import pytest

import designer
from designer.errors import InputError
from designer.output import json_text
from designer.project import loads
from designer.sheet import build_sheet
from designer.sheet.spread_page import build_spread
from designer.sheet.spread_text import spread_tables
from designer.studies.design import design
from designer.studies.export import design_json
from designer.studies.spread import spread, spread_design
from designer.studies.spread_inputs import completed_draws, inputs_of
from designer.studies.spread_json import spread_json
from designer.studies.survey import survey
from designer.studies.triac_firing import detector

EXAMPLES = Path(designer.__file__).parent / "examples"
FAN = (EXAMPLES / "fan-fixed.toml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def made():
    """The fan's design with 400 samples and a band asked for."""
    return spread_design(loads(FAN.replace('speed = "6000 rpm"', 'speed = "6000 rpm"\nspeed_band = "7 %"')),
                         samples=400, seed=3)


def test_the_share_inside_the_band_is_counted(made):
    """The band asked for stands among the shares, which grow with the band; its histogram bounds it."""
    found = made.spread
    bands, speed = dict(found.bands), found.outputs[0]
    assert found.asked == 0.07
    assert list(bands.values()) == sorted(bands.values())
    target = made.project.target.speed
    inside = (speed.edges[:-1] >= 0.93 * target) & (speed.edges[1:] <= 1.07 * target)
    touching = (speed.edges[1:] >= 0.93 * target) & (speed.edges[:-1] <= 1.07 * target)
    assert speed.counts[inside].sum() / 400 <= bands[0.07] <= speed.counts[touching].sum() / 400
    assert "±7\u00a0% about the target" in build_spread(made)


def test_the_fall_from_no_load_to_full_load_is_told_apart_from_the_band_about_the_target(made):
    """The nominal machine's is the one that the design refuses (setting held, nominal supply); named apart everywhere.

    Ambient is the middle of its spread here and the warmest there: hence the 1 %.
    """
    found = made.spread
    change = found.outputs[-1]
    refused = next(reason for reason in made.reasons if reason.code == "speed-band")
    assert change.name == "speed_change"
    assert change.nominal == pytest.approx(refused.figure.value, rel=0.01)
    assert dict(found.changes)[0.07] == 0.0
    told = spread_json(found)
    assert [row["share"] for row in told["share_with_speed_change_within_band"]] == [0.0] * 5
    assert [row["share"] for row in told["share_within_band_about_target"]] == list(dict(found.bands).values())
    for text in (html.unescape(build_spread(made)).replace("\u00a0", " "), " ".join(spread_tables(made).split())):
        assert "change their speed from no load to full load by no more than 7 % of the target's" in text
        assert "stay within ±7 % about the target's speed" in text


def test_the_same_seed_gives_the_same_bytes(made):
    """JSON, page and text; another seed gives others."""
    again = spread_design(made.project, samples=400, seed=3)
    other = spread(made.project, samples=400, seed=4)
    assert json_text(spread_json(again.spread)) == json_text(spread_json(made.spread))
    assert (build_spread(again), spread_tables(again)) == (build_spread(made), spread_tables(made))
    assert spread_json(other)["outputs"] != spread_json(made.spread)["outputs"]


def test_corners_reach_past_the_samples_of_what_they_hold(made):
    """The corner of supply, ambient, friction and edge lies beyond 99 of 100 samples, on both sides."""
    speed, corner = made.spread.outputs[0], made.spread.corners[0]
    assert corner.least < speed.percentiles[1.0]
    assert corner.greatest > speed.percentiles[99.0]
    assert corner.least_at.startswith("207 V")
    assert corner.greatest_at.startswith("253 V")


def test_every_design_has_its_corners_and_tells_how_to_get_the_rest():
    """Without a [tolerance] table no sample is drawn."""
    plain = design(loads(FAN))
    assert plain.spread is None
    assert {corner.words for corner in plain.corners} >= {"output speed, loaded", "output speed, no load"}
    page = build_sheet(plain)
    assert "brushbench tolerance FILE" in page
    assert 'id="tolerance"' in page
    assert design_json(plain)["tolerance"] is None


def test_a_table_in_the_file_brings_it_onto_the_sheet():
    """With its own samples, seed, and spreads in place of those assumed."""
    text = FAN + '\n[tolerance]\nsamples = 150\nseed = 9\nload = "5 %"\nflux = "1 %"\n'
    found = design(loads(text))
    assert (found.spread.samples, found.spread.seed) == (150, 9)
    by = {one.name: one for one in found.spread.inputs}
    assert (by["load"].low, by["load"].high, by["load"].source) == (0.95, 1.05, "from the file")
    assert by["flux"].high == pytest.approx(1.03, rel=1e-12)   # source: three times the file's 1 %
    assert "150 samples" in build_sheet(found)
    assert json.loads(json_text(design_json(found)))["tolerance"]["samples"] == 150


def test_the_corners_hold_what_the_controls_parts_move():
    """The detector's worst error (2π·f·t, derived): late at low supply, early at high; labels say so."""
    project = loads(FAN)
    found = _surveyed(project)
    off = 2 * math.pi * 50 * detector(project).error
    held, corners = found.held.points.setting, found.corners
    assert off > math.radians(3)
    for label, setting in zip(corners.labels, corners.points.setting, strict=True):
        late = label.startswith("207 V")
        assert ("detector slow" in label, "detector fast" in label) == (late, not late)
        assert setting == pytest.approx(held[0] + off if late else held[2] - off, rel=1e-12)


def test_the_corners_of_a_chopper_hold_its_edges():
    """On-time off by the switch's edges: a share of 0.25 µs times the switching frequency (derived)."""
    found = _surveyed(loads((EXAMPLES / "garden-cart.toml").read_text(encoding="utf-8")))
    apart = found.corners.points.setting[-1] - found.corners.points.setting[0]
    assert apart == pytest.approx(2 * 0.25e-6 * 18e3, rel=1e-9)
    assert found.corners.labels[-1].startswith("42 V, switch fast")


def test_the_corners_of_a_network_hold_its_own_angles():
    """Slow parts at low supply, fast ones at high supply, as the network's own solution has them (late, early)."""
    text = FAN.replace('gate = "train"', 'firing = "breakover-two-wire"')
    made = design(loads(text.replace("[supply]", '[supply]\nprospective_current = "400 A"')))
    speed = made.corners[0]
    assert "network slow" in speed.least_at
    assert "network fast" in speed.greatest_at
    plain = design(loads(FAN.replace("[supply]", '[supply]\nprospective_current = "400 A"'))).corners[0]
    assert speed.least < plain.least      # its parts are wider apart than the detector's error


def test_the_detectors_edge_moves_the_angle():
    """By 2π·f·t (derived), up to the error that the sheet gives its detector."""
    project = loads(FAN)
    made = design(project)
    found = _surveyed(project)
    error = detector(project).error
    full = completed_draws({"edge": np.array([0.0, error]), "frequency": np.array([50.0, 50.0])}, project, found,
                           made.parts)
    assert full["setting"][1] - full["setting"][0] == pytest.approx(2 * math.pi * 50 * error, rel=1e-12)


def test_a_network_fires_where_its_parts_say():
    """Nominal parts give the setting held; at the corners the angles that the design itself found."""
    text = FAN.replace('gate = "train"', 'firing = "breakover-two-wire"')
    project = loads(text.replace("[supply]", '[supply]\nprospective_current = "400 A"'))
    made = design(project)
    found = _surveyed(project)
    rows = {"breakover": np.array([32.0, 36.0, 28.0]), "timing_capacitance": np.array([1.0, 1.1, 0.9]),
            "timing_resistance": np.ones(3), "voltage": np.array([230.0, 207.0, 253.0]), "frequency": np.full(3, 50.0)}
    angles = completed_draws(rows, project, found, made.parts)["setting"]
    assert angles[0] == pytest.approx(float(found.held.points.setting[1]), abs=math.radians(0.3))
    assert angles[2] < angles[0] < angles[1]
    assert {"breakover", "timing_capacitance"} <= {one.name for one in inputs_of(project, found, made.parts, None)}
    assert "breakover" not in {one.name for one in inputs_of(project, found, (), None)}


def _surveyed(project):
    from designer.circuits import circuit
    from designer.project.kinds import CIRCUIT_KINDS
    from designer.studies.sides import control
    from designer.studies.solve import fixed_of

    kind = CIRCUIT_KINDS[project.circuit.kind]
    found = circuit(kind.name)
    return survey(found, control(kind).prepared(found, fixed_of(project), project), project)


@pytest.mark.parametrize(("key", "value"), [("samples", 99), ("samples", 2_000_000), ("seed", -1)])
def test_what_cannot_be_drawn_is_refused(key, value):
    """With the key and what it takes."""
    with pytest.raises(InputError, match=f"tolerance.{key}: found {value}, allowed a whole number"):
        spread(loads(FAN), **{key: value})


def test_a_supply_by_itself_has_no_speed_to_spread():
    """It is refused by name."""
    text = (EXAMPLES / "reservoir-supply.toml").read_text(encoding="utf-8")
    with pytest.raises(InputError, match="a circuit whose motor turns"):
        spread(loads(text), samples=100)


def test_a_fit_gives_its_own_uncertainties():
    """Constants from readings spread by the fit, not by an assumption."""
    text = (EXAMPLES / "fan-readings.toml").read_text(encoding="utf-8")
    found = spread(loads(text), samples=100)
    by = {one.name: one.source for one in found.inputs}
    assert by["armature"] == by["flux"] == by["friction"] == "fit of the readings"
