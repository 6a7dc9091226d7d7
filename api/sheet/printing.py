"""The drawing printed: every sheet of it as a page of one PDF and as an SVG, drawn from the same DXF entities."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from ezdxf.addons.drawing.config import BackgroundPolicy, Configuration, LinePolicy, TextPolicy
from ezdxf.addons.drawing.frontend import Frontend
from ezdxf.addons.drawing.layout import Margins, Page, Settings, Units
from ezdxf.addons.drawing.matplotlib import MatplotlibBackend
from ezdxf.addons.drawing.properties import RenderContext
from ezdxf.addons.drawing.svg import SVGBackend
from ezdxf.layouts.layout import Paperspace
from ezdxf.math import BoundingBox2d
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties

from api.sheet.lettering import CAPITAL, font_path, use_fonts
from api.sheet.paper import Paper

__all__ = ["print_pdf", "print_svg"]

MM = 25.4
POINTS = 72 / MM
"""Points in a millimetre."""


def print_pdf(layouts: Sequence[Paperspace], paper: Paper, path: Path, title: str) -> None:
    """All sheets as pages of one file, at true size; the same drawing gives the same bytes."""
    use_fonts()
    told = {"Title": title, "Creator": None, "Producer": None, "CreationDate": None}
    config = _config(lineweight_scaling=POINTS, min_lineweight=0.2, text_policy=TextPolicy.IGNORE)
    with PdfPages(path, metadata=told) as pages:
        for layout in layouts:
            figure = Figure(figsize=(paper.width / MM, paper.height / MM))
            FigureCanvasPdf(figure)
            axes = figure.add_axes((0, 0, 1, 1))
            backend = MatplotlibBackend(axes, adjust_figure=False)
            Frontend(RenderContext(layout.doc), backend, config=config).draw_layout(layout, finalize=False)
            _letters(axes, layout)
            axes.set_xlim(0, paper.width)
            axes.set_ylim(0, paper.height)
            pages.savefig(figure)


def _letters(axes: Axes, layout: Paperspace) -> None:
    """The drawing's texts as letters that can be searched and copied: same font, same size, same place."""
    for entity in layout.query("TEXT"):
        told = entity.dxf
        red, green, blue = layout.doc.layers.get(told.layer).rgb or (0, 0, 0)
        axes.text(
            told.insert.x,
            told.insert.y,
            told.text,
            fontproperties=FontProperties(fname=font_path(bold=told.style == "bold")),
            fontsize=told.height * POINTS / CAPITAL,
            rotation=told.rotation,
            rotation_mode="anchor",
            va="baseline",
            ha="left",
            color=(red / 255, green / 255, blue / 255),
            parse_math=False,
        )


def print_svg(layout: Paperspace, paper: Paper, path: Path) -> None:
    """One sheet as a picture."""
    use_fonts()
    backend = SVGBackend()
    Frontend(RenderContext(layout.doc), backend, config=_config()).draw_layout(layout)
    page = Page(paper.width, paper.height, Units.mm, margins=Margins.all(0))
    box = BoundingBox2d([(0, 0), (paper.width, paper.height)])
    text = backend.get_string(page, settings=Settings(fit_page=False, scale=1), render_box=box)
    path.write_text(text + "\n", encoding="utf-8")


def _config(
    lineweight_scaling: float = 1.0,
    min_lineweight: float | None = None,
    text_policy: TextPolicy = TextPolicy.FILLING,
) -> Configuration:
    return Configuration(
        background_policy=BackgroundPolicy.WHITE,
        line_policy=LinePolicy.ACCURATE,
        lineweight_scaling=lineweight_scaling,
        min_lineweight=min_lineweight,
        max_flattening_distance=0.01,
        text_policy=text_policy,
    )
