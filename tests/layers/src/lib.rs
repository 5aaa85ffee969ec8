//! Checks of the house itself: its arrows, its rooms, its tidiness. The checks are in `tests/`.
