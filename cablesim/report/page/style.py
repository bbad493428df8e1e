"""The looks of a page: one sheet for phone, desk and paper, light and dark.

Letters on their grounds have a contrast of 7 or more, light and dark (WCAG 2.2, 1.4.6, from memory;
tested), and nothing is told by colour alone.
"""

from __future__ import annotations

__all__ = ["DARK", "LIGHT", "STYLE"]

LIGHT = {
    "paper": "#ffffff",
    "ink": "#1a1a1a",
    "grey": "#555555",
    "line": "#b5b5b5",
    "sheet": "#ececec",
    "blue": "#005a91",
    "pale": "#8fbfdb",
    "mark": "#903800",
}
"""Names of colours in light, as the figures and the sheet use them."""
DARK = {
    "paper": "#15181b",
    "ink": "#ededed",
    "grey": "#b9b9b9",
    "line": "#5a6066",
    "sheet": "#262b30",
    "blue": "#86c8f2",
    "pale": "#3f7ea6",
    "mark": "#ffb27d",
}
"""The same in the dark."""


def _variables(colours: dict[str, str]) -> str:
    return "".join(f"--{name}:{value};" for name, value in colours.items())


STYLE = (
    f":root{{color-scheme:light dark;{_variables(LIGHT)}}}\n"
    f"@media (prefers-color-scheme:dark){{:root{{{_variables(DARK)}}}}}\n"
    """
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%;text-size-adjust:100%}
body{margin:0;background:var(--paper);color:var(--ink);
 font:1rem/1.5 system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Liberation Sans",sans-serif}
header,main,footer{max-width:46rem;margin:0 auto;padding:0 1rem}
header{padding-top:1.5rem}
.kind{margin:0;color:var(--grey)}
h1{font-size:1.6rem;line-height:1.25;margin:.25rem 0 1rem;overflow-wrap:anywhere}
h2{font-size:1.25rem;line-height:1.3;margin:0 0 .75rem}
h3{font-size:1.05rem;margin:1.5rem 0 .5rem}
section{padding:1.5rem 0;border-top:1px solid var(--line)}
p{margin:.5rem 0}
a{color:var(--blue)}
a:focus-visible,[tabindex]:focus-visible{outline:3px solid var(--mark);outline-offset:2px}
.skip{position:absolute;left:-99rem}
.skip:focus{left:1rem;top:.5rem;background:var(--paper);padding:.5rem}
nav ol{columns:2;column-gap:1.5rem;padding-left:1.6rem;margin:0 0 1rem}
nav li{break-inside:avoid}
#answer{border:2px solid var(--ink);border-radius:.4rem;padding:1rem;margin-bottom:1.5rem}
#answer+nav+section{border-top:0}
.standing{font-size:1.15rem;font-weight:700;margin:0 0 .75rem}
#answer dl>div:first-child dd{font-weight:700}
.mind{border-left:.35rem solid var(--mark);padding:.1rem 0 .1rem .75rem}
.small{color:var(--grey);font-size:.9rem}
dl{margin:.5rem 0}
dl>div{display:grid;grid-template-columns:8.5rem 1fr;column-gap:1rem;padding:.2rem 0}
dt{color:var(--grey);grid-column:1}
dd{margin:0;grid-column:2;overflow-wrap:anywhere}
ol,ul{padding-left:1.4rem;margin:.5rem 0}
li{margin:.3rem 0}
code{font-size:.92em;overflow-wrap:anywhere}
table{border-collapse:collapse;width:100%;margin:.75rem 0;font-size:.92rem}
caption{text-align:left;font-weight:700;padding-bottom:.3rem}
th,td{text-align:left;vertical-align:top;padding:.35rem .75rem .35rem 0;
 border-bottom:1px solid var(--line)}
th{color:var(--grey);font-weight:600}
.number{text-align:right;font-variant-numeric:tabular-nums}
td.short{white-space:nowrap}
th:last-child,td:last-child{padding-right:0}
figure{margin:1rem 0}
figure svg{display:block;width:100%;max-width:34rem;height:auto}
figure svg text{font-family:inherit!important}
figure svg text:not([style*="fill"]){fill:var(--ink)}
figcaption{font-weight:700;margin-top:.5rem}
figcaption span{display:block;font-weight:400;color:var(--grey);font-size:.9rem}
.sign{display:none}
footer{padding-bottom:2rem;color:var(--grey);font-size:.9rem}
@media (max-width:36rem){
 nav ol{columns:1}
 dl>div{grid-template-columns:1fr}
 dt,dd{grid-column:1}
 dt{font-size:.9rem}
 table,tbody,tr,td,caption{display:block;width:auto}
 thead{position:absolute;left:-99rem}
 tr{border-top:1px solid var(--line);padding:.5rem 0}
 td,td.number{display:grid;grid-template-columns:9.5rem 1fr;column-gap:1rem;text-align:left;
  border:0;padding:.1rem 0}
 td::before{content:attr(data-label);color:var(--grey)}
 td:not([data-label])::before{content:""}
 td:empty{display:none}
}
@media print{
 @page{margin:16mm 15mm}
"""
    f" :root{{color-scheme:light;{_variables(LIGHT)}}}\n"
    """
 html{font-size:10pt}
 body{line-height:1.4}
 header,main,footer{max-width:none;padding:0}
 nav,.skip{display:none}
 section{padding:.8rem 0}
 h1{font-size:16pt}h2{font-size:13pt}h3{font-size:11pt}
 h1,h2,h3,caption{break-after:avoid}
 figure,table,tr,dl>div,li,.sign,#answer,#about{break-inside:avoid}
 figure{display:grid;grid-template-columns:92mm 1fr;column-gap:6mm;align-items:center}
 #answer a::after{content:": in the section Cautions"}
 thead{display:table-header-group}
 a{color:inherit;text-decoration:none}
 .sign{display:block;margin-top:8mm}
 .sign>div{grid-template-columns:11rem 1fr}
 .sign>div{border-bottom:1px solid var(--line);padding-top:7mm}
}
"""
)
