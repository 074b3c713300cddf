"""The report on paper: gathered once (``gather``), written as PDF, HTML, CSV and JSON. The only code that lays out."""

from survey.paper.gather import ReportSource, gather
from survey.paper.page import html_page, page_css, write_html
from survey.paper.pdf import write_pdf
from survey.paper.plain import write_json
from survey.paper.tables import write_csv

__all__ = ["ReportSource", "gather", "html_page", "page_css", "write_csv", "write_html", "write_json", "write_pdf"]
