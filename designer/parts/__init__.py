"""One file a kind of part: what it must withstand, the preferred value and rating, what goes wrong if it is wrong."""
