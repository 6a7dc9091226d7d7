"""The mechanics of bending: a thin plate on one-sided supports, its moments and its principal tension."""
