"""Lines along the principal tension on a face: where they run, how hard they pull, how sure their direction is."""

from fem.paths.isotropic import isotropic_points
from fem.paths.path import Path
from fem.paths.tension import tension_paths

__all__ = ["Path", "isotropic_points", "tension_paths"]
