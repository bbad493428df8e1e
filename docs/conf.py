"""The documentation site: ``sphinx-build -W docs docs/_build/html`` from the top of the checkout.

Pages are Markdown (MyST). What can be read from the code is written anew at every build into
``docs/reference/commands``, ``docs/reference/api`` and ``docs/reference/keys.md``; none of it is
kept in the repository. The built site needs no network: no fonts, scripts or styles from elsewhere,
and formulas are MathML, which browsers draw themselves.
"""

import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE / "_ext"))

from cablesim import __version__  # noqa: E402

project = "cablesim"
author = "The cablesim developers"
copyright = "The cablesim developers, BSD 3-clause licence"
version = release = __version__

extensions = [
    "myst_parser",
    "numpydoc",
    "sphinx.ext.autodoc",
    "sphinx.ext.autosummary",
    "mathml",
    "rest_of_pages",
    "written_from_code",
]
exclude_patterns = ["_build", "_ext"]
# Quotes and dashes stay as they are typed: --json is an option.
smartquotes = False

# --- Markdown -------------------------------------------------------------------------------------

myst_enable_extensions = ["attrs_block", "colon_fence", "deflist", "dollarmath"]
myst_heading_anchors = 3
html_math_renderer = "mathml"

# --- Python ---------------------------------------------------------------------------------------

autodoc_typehints = "none"  # numpydoc says types and units in words
autodoc_member_order = "bysource"
numpydoc_show_class_members = False
numpydoc_class_members_toctree = False

# --- Look -----------------------------------------------------------------------------------------

html_theme = "furo"
html_title = f"cablesim {version}"
html_static_path = ["_static"]
html_css_files = ["site.css"]
html_copy_source = False
html_show_sphinx = False
html_theme_options = {
    "light_css_variables": {
        "color-brand-primary": "#8a3b12",
        "color-brand-content": "#8a3b12",
        "font-stack": "system-ui, -apple-system, 'Segoe UI', 'Noto Sans', sans-serif",
        "font-stack--monospace": "ui-monospace, 'Cascadia Mono', 'DejaVu Sans Mono', monospace",
    },
    "dark_css_variables": {
        "color-brand-primary": "#f0a878",
        "color-brand-content": "#f0a878",
    },
}
# Of the theme's own dependency accessible-pygments: outputs and comments have contrast as well.
pygments_style = "a11y-high-contrast-light"
pygments_dark_style = "a11y-high-contrast-dark"
