"""One file a kind of part: what it must withstand, the preferred value, what fails if it is wrong."""
