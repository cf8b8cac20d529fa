"""The build sheet: cautions, verdict, diagram, parts, stresses, plots, and the steps to first power."""

from designer.sheet.build import build_sheet
from designer.sheet.parts_list import parts_csv

__all__ = ["build_sheet", "parts_csv"]
