"""A slab on edge or leaning: its own weight in its plane, standing on its lower edge, as plane stress."""
