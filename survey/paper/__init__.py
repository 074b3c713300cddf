"""The report on paper: gathered once (``gather``), written as PDF, CSV and JSON. The only code that lays out."""

from survey.paper.gather import ReportSource, gather
from survey.paper.pdf import write_pdf
from survey.paper.plain import write_json
from survey.paper.tables import write_csv

__all__ = ["ReportSource", "gather", "write_csv", "write_json", "write_pdf"]
