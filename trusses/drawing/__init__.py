"""Elevations of trusses as SVG: pure functions of a truss document and its analysis document.

Composed from the drawing standards: line types and weights of ISO 128-2, dimensions of ISO 129-1 written in feet and
inches. What each class name and data attribute means to a page's styles and scripts is in `elevation`.
"""

from trusses.drawing.bearings import AskedBearing
from trusses.drawing.borne import Weight
from trusses.drawing.elevation import elevation, thumbnail
from trusses.drawing.enlarged import detail
from trusses.drawing.paper import DrawingError
from trusses.drawing.taped import Taped

__all__ = ["AskedBearing", "DrawingError", "Taped", "Weight", "detail", "elevation", "thumbnail"]
