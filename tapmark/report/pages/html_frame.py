"""The frame of every HTML page: head, style, and the few elements all pages use."""

from html import escape
from typing import Final

from tapmark.report.drawing.svg import STYLE as DRAWING_STYLE
from tapmark.report.pages.words import PageWords

POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
STYLE: Final = """
:root{color-scheme:light dark;--ink:#000;--paper:#fff;--tint:#dedede}
@media(prefers-color-scheme:dark){:root{--ink:#f2f4f6;--paper:#14181c;--tint:#4a525a}}
*{box-sizing:border-box}
body{margin:0 auto;padding:15mm;max-width:210mm;background:var(--paper);color:var(--ink);
font:11pt/1.28 Arial,"Liberation Sans",Helvetica,sans-serif}
h1,h2,h3,p,ul,table,figure,fieldset{margin:0;padding:0;font-size:1em;border:0}
header{display:grid;grid-template-columns:minmax(37.5mm,max-content) 1fr;align-items:center;
border-bottom:.5mm solid var(--ink);padding-bottom:1.6mm}
h1{font-size:22pt;line-height:1.1;padding-right:4mm}
section{display:grid;grid-template-columns:37.5mm 1fr;margin-top:4.4mm;break-inside:avoid}
section.wide{display:block}aside section{break-inside:auto}
tr,figure{break-inside:avoid}
h2{padding-right:2mm}.step svg{width:100%}h3{font-size:15pt}h3 small{font-size:11pt;font-weight:400}
h3.drill{font-size:11pt;margin-top:1.6mm}
ul{list-style:none}.ticks,.thirds{display:grid;grid-template-columns:repeat(3,auto);gap:0 5mm}
.ticks svg{margin-right:1mm}svg{vertical-align:-.6mm;max-width:100%;height:auto}
.pair,.halves{display:grid;grid-template-columns:1fr 1fr;gap:0 5mm}
.pair>div:only-child{grid-column:1/3}
figcaption{display:grid;grid-template-columns:1fr 1fr;font-weight:700}
.name{font-size:15pt;font-weight:700}.cue{font-size:22pt;font-weight:700;line-height:1.12;
text-indent:-.45em;margin:1.5mm 0}
.step svg text,.pair svg text{font-family:inherit}
table{border-collapse:collapse;width:100%}caption{font-weight:700;text-align:left}
td,th{padding:0}
th{font-weight:400;text-align:left}thead th{font-weight:700}
.todo td,.todo thead th+th{text-align:center}
.todo thead th{font-weight:400}.todo tbody th{width:19mm}
.list{line-height:1.18}.list td{white-space:nowrap;width:1%}.list td:has(i){text-align:right}
.list svg{width:5.6mm;height:3.4mm}.list svg,.numbers svg{max-width:none}
.numbers td,.numbers th{padding:.3mm 1.5mm .3mm 0;vertical-align:top}
.numbers .n{text-align:right;white-space:nowrap}.numbers .v{white-space:nowrap}
.matrix{line-height:1.1}.matrix td,.matrix thead th{text-align:center}.matrix td:last-child,
.matrix th:first-child{text-align:left;white-space:nowrap}.matrix svg{width:5.2mm;height:3.4mm}
.log th,.log td{height:8mm;padding-right:2mm;border-bottom:.25mm solid var(--ink)}
.log td:nth-child(6){white-space:nowrap}.log td:nth-child(2){width:32mm}
.log input{vertical-align:-1.2mm}.plan{margin-top:3mm}.plan svg{width:100%}
.log td:last-child{width:48mm}.fact{display:flex;align-items:end;gap:2mm}.fact .line{flex:1}
.works{border-bottom:.8mm solid var(--ink)}ol{columns:3;margin:2mm 0 0;padding-left:7mm}
input{width:5mm;height:5mm;margin:.5mm 0;accent-color:var(--ink)}
.todo input{display:block;margin:.6mm auto}
fieldset{margin-top:1.6mm}
fieldset label{display:inline-flex;gap:1mm;align-items:center;margin-right:3mm}
.line{display:inline-block;min-width:30mm;border-bottom:.43mm solid var(--ink);height:6mm}
p.line{display:block}.todo .line{min-width:17mm}.hand{margin-top:1mm}
footer{margin-top:4mm}
.hidden{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap}
@media(max-width:170mm){body{padding:5mm}section,.pair,.halves,.ticks,.thirds{display:block}}
@media print{:root{color-scheme:light;--ink:#000;--paper:#fff;--tint:#dedede}
body{padding:0;max-width:none;line-height:1.2}section{margin-top:2mm}
.todo input{margin:.25mm auto}.todo .line{height:5mm}aside{break-before:page}
.pair{break-inside:avoid}.pair svg{height:30mm}.step svg{height:35mm}
.cue{font-size:20pt;margin:1mm 0}.full~.check{display:none}
.walk h2{display:none}.todo tbody th{line-height:0}
p.line{height:5mm}footer{margin-top:1.5mm}aside .numbers{font-size:10pt}}
"""


def document(title: str, body: str, words: PageWords, paper: str) -> str:
    """Return a whole document; body is already escaped."""
    page = "A4" if paper == "a4" else "letter"
    style = f"@page{{size:{page};margin:10mm 15mm}}{STYLE}{DRAWING_STYLE}"
    return (
        f'<!DOCTYPE html>\n<html lang="{escape(words.lang)}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width,initial-scale=1">\n'
        '<meta name="robots" content="noindex">\n<meta name="referrer" content="no-referrer">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">\n'
        f"<title>{escape(title)}</title>\n<style>{style}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def element(name: str, text: str, kind: str = "") -> str:
    """Return one element around escaped text."""
    classes = f' class="{kind}"' if kind else ""
    return f"<{name}{classes}>{escape(text)}</{name}>"


def section(heading: str, inside: str, kind: str = "") -> str:
    """Return a section with its heading; inside is already escaped."""
    classes = f' class="{kind}"' if kind else ""
    return f"<section{classes}>{element('h2', heading)}<div>{inside}</div></section>\n"
