"""The answer as a page that a person can hand to a client or an insurer.

`source` gathers what the commands say, `sections` lists what is shown of it, `document` makes one
HTML file of that. The sections word nothing anew: tables of the terminal become tables here
(`convert`), figures become SVG (`svg`).
"""

from cablesim.report.page.document import page_html
from cablesim.report.page.source import PageSource, page_source

__all__ = ["PageSource", "page_html", "page_source"]
