"""Parts at hand: the ranges of their keys, and no key that nothing reads."""

import pytest

from tests.project.files import changed, sound, told


def test_a_fuse_breaks_up_to_200_ka():
    """Links of industrial size break 50 to 200 kA (IEC 60269, from memory); beyond that it is a slip."""
    own = '[parts.fuse]\nrating = "10 A"\nbreaking_capacity = "120 kA"\n'
    assert sound(more=own).parts.fuse.breaking_capacity == 120e3
    (fault,) = told(changed(more=own.replace("120 kA", "201 kA")))
    assert (fault.key, fault.found) == ("parts.fuse.breaking_capacity", "201 kA")


@pytest.mark.parametrize("line", ['rating = "0 A"', 'rating = "5 A"\ni2t = "0 A²s"'])
def test_a_fuse_of_nothing_is_refused(line):
    """A rating or let-through of zero is no fuse (derived)."""
    (fault,) = told(changed(more=f"[parts.fuse]\n{line}\n"))
    assert fault.key.startswith("parts.fuse.")
