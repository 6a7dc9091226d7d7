"""The ways in and out: case files, units, command line, HTTP, answers and pictures."""
