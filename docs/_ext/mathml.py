"""Formulas as MathML, by docutils' own translator: no script and no network when a page is read."""

from __future__ import annotations

from docutils import nodes
from docutils.utils.math import MathError
from docutils.utils.math.latex2mathml import tex2mathml
from sphinx.util import logging

_log = logging.getLogger(__name__)


def _mathml(node: nodes.Node, *, as_block: bool) -> str:
    try:
        return tex2mathml(node.astext(), as_block=as_block)
    except MathError as error:
        _log.warning("formula %r: %s", node.astext(), error, location=node)
        return node.astext()


def _inline(translator, node) -> None:
    translator.body.append(_mathml(node, as_block=False))
    raise nodes.SkipNode


def _block(translator, node) -> None:
    # What is read aloud and copied is the formula's own text.
    translator.body.append(f'<div class="formula">{_mathml(node, as_block=True)}</div>\n')
    raise nodes.SkipNode


def setup(app):
    """Register the renderer that conf.py chooses."""
    app.add_html_math_renderer("mathml", (_inline, None), (_block, None))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
