"""Where a support or a load meets the plate: places become weighted points, grouped into contacts.

A line is a row of overlapping hats, each a force spread evenly up and down along it, so that the reaction is a line
density and never a row of spikes; what Kirchhoff's theory concentrates at the ends of a line and at a held corner
gets a contact of its own there. Lines and points inside the slab are spread across by the kernel of fem.plate.kernel,
and remember it.
"""

from fem.plate.footing.contacts import Footing, LineSpread, RoundSpread, join, runs
from fem.plate.footing.places import Place, footing
from fem.plate.footing.site import Site

__all__ = ["Footing", "LineSpread", "Place", "RoundSpread", "Site", "footing", "join", "runs"]
