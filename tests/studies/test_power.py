"""The power side as a study puts it together: one fuse behind every row that speaks of it."""

from designer.checks import check
from designer.parts.coordination import shorts
from designer.parts.fuse import let_through
from designer.parts.snubber_values import CAPACITOR_TOLERANCE
from designer.parts.x2_capacitor import TOLERANCE
from designer.studies.sides.mains import steepness


def rating(part, name):
    """The one rating of that name."""
    return next(r for r in part.ratings if r.name == name)


def test_every_row_means_the_fuse_that_is_fitted(s1):
    """Let-through on switch and fuse alike, and no wire that carries less than the fuse's rating (derived)."""
    parts = {part.role: part for part in s1.power.parts}
    fuse = parts["fuse"]
    let = rating(fuse, "let-through against the device")
    switch = rating(parts["switch"], "I²t against the fuse")
    assert (switch.stress, switch.limit) == (let.stress, let.limit)
    found = shorts(s1.power.link, prospective=s1.project.supply.fault_current, steepness=steepness(s1.project))
    assert let.stress.value in [short.let_through for short in found]
    assert found[0].let_through == let_through(s1.power.link, prospective=s1.project.supply.fault_current)
    for role in ("supply-cord", "wire"):
        held = rating(parts[role], "fuse rating against the wire")
        assert held.stress.value == fuse.value.value
        assert {c.verdict for c in check(parts[role])} == {"pass"}


def test_the_plug_s_charge_is_that_of_the_largest_capacitors(s1):
    """X2 and snubber at their upper tolerances discharge through the bleeder (derived)."""
    parts = {part.role: part for part in s1.power.parts}
    most = parts["x2-capacitor"].value.value * (1 + TOLERANCE)
    most += parts["snubber-capacitor"].value.value * (1 + CAPACITOR_TOLERANCE)
    steps = [step for step in parts["x2-bleeder"].worked if "C" in step.inputs or "C_max" in step.inputs]
    assert steps
    assert all(step.inputs.get("C", step.inputs.get("C_max")) >= most * (1 - 1e-9) for step in steps)
