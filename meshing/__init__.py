"""A shape becomes triangles: shapes and sizes, no mechanics."""
