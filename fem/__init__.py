"""Triangles become answers: plates and concrete, in SI throughout; no files, no web, no pictures."""
