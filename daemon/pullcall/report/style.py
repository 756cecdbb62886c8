"""The look of printed sheets and of the same on a phone: one style, to be hashed by who serves it.

Tokens, the dark band and the lanes' colours are those of the cook page; paper is always light.
"""

from __future__ import annotations

_DARK = (
    "--paper:#0b0c12;--panel:#14161f;--ink:#f6f3ea;--soft:#c9c6d2;--rule:#5b5f73;--key:#272b3a;"
    "--first:#a9bdff;--second:#ffadde;--head:#232839;--onhead:#f6f3ea;color-scheme:dark"
)

#: Everything between ``<style>`` and ``</style>``.
STYLE = (
    """
:root{--paper:#fbf7ec;--panel:#fff;--ink:#14121a;--soft:#3d3a46;--rule:#14121a;--key:#e9e2cf;
--first:#1c2f96;--second:#7c0f52;--head:#14121a;--onhead:#fbf7ec;--flag:#ffd60a;--flagink:#14121a;
color-scheme:light}
@media screen and (prefers-color-scheme:dark){:root{"""
    + _DARK
    + """}}
*{box-sizing:border-box;margin:0}
body{max-width:900px;margin:0 auto;padding:0 12px 16px;background:var(--paper);color:var(--ink);
font:500 15px/1.35 system-ui,-apple-system,"Segoe UI",Roboto,"Noto Sans","Liberation Sans",
sans-serif;
font-variant-numeric:tabular-nums;overflow-wrap:anywhere;-webkit-text-size-adjust:100%}
header{margin:0 -12px 12px;padding:10px 12px 12px;background:var(--head);color:var(--onhead)}
header p{font-size:15px}
h1{font-size:26px;line-height:1.1;font-weight:800;letter-spacing:-.01em}
h2{margin:0 0 6px;padding-bottom:2px;border-bottom:3px solid var(--rule);font-size:19px;
line-height:1.2;font-weight:800}
section{margin:0 0 18px;break-inside:avoid}
ol,ul{padding-left:22px}
li{margin:0 0 6px;padding-left:2px}
.plain{padding-left:0;list-style:none}
b{font-weight:800}
.why{color:var(--soft)}
.next{padding:8px 12px;background:var(--panel);border:2px solid var(--rule)}
.next h2{border:0}
table{width:100%;border-collapse:collapse;font-size:14px;line-height:1.25}
caption{padding:0 0 3px;text-align:left;font-weight:800}
th,td{padding:3px 6px 3px 0;border-bottom:1px solid var(--key);text-align:right;vertical-align:top}
th{font-weight:600}
thead th{border-bottom:1px solid var(--rule);font-weight:700}
th:first-child,td:first-child{text-align:left}
td,thead th,.wrapped th{white-space:nowrap}
.wrapped td:nth-child(2),.wrapped td:nth-child(3){white-space:normal}
.steps thead th{white-space:normal;overflow-wrap:normal}
.wrapped td:nth-child(2){width:50%}
.wrapped :nth-child(2){text-align:left}
.cut td{white-space:normal}
th:last-child,td:last-child{padding-right:0}
.out{font-weight:800}
figure{margin:0}
.drawing{display:block;width:100%;height:auto;color:var(--ink);border:1px solid var(--key)}
.drawing .paper{fill:var(--panel)}
.drawing .pen.first{stroke:var(--first)}
.drawing .pen.second{stroke:var(--second)}
.drawing .pen.third{stroke:var(--ink)}
.drawing .ink.first{fill:var(--first)}
.drawing .ink.second{fill:var(--second)}
.drawing .ink.third{fill:var(--ink)}
.drawing .hollow{fill:var(--panel)}
.wide,.cut{display:none}
.long{white-space:pre-line}
.scrolls{overflow-x:auto}
.scrolls th{min-width:8em}
footer{padding-top:8px;border-top:1px solid var(--rule);font-size:13px;color:var(--soft)}
footer p{margin:0 0 4px}
@media screen and (min-width:760px){.narrow{display:none}.wide{display:block}
.pair{display:grid;grid-template-columns:1fr 1fr;gap:0 24px;align-items:start}
.rest{display:grid;grid-template-columns:1fr 1fr;gap:0 24px;align-items:start}}
@media print{
@page{size:portrait;margin:8mm}
html{--paper:#fff}
body{max-width:none;padding:0;font-size:7.4pt;line-height:1.22;print-color-adjust:exact;
-webkit-print-color-adjust:exact}
header{margin:0 0 4pt;padding:4pt 6pt}
header p{font-size:7.8pt}
h1{font-size:13pt}
h2{margin:0 0 2pt;padding:0 0 1pt;border-bottom-width:1.5pt;font-size:9pt}
section{margin:0 0 4pt}
ol,ul{padding-left:12pt}
.plain{padding-left:0}
li{margin:0 0 1.5pt}
.next{padding:3pt 6pt;border-width:1pt}
table{font-size:7pt;line-height:1.15}
caption{padding:0}
th,td{padding:.8pt 4pt .8pt 0}
.narrow,.beyond{display:none}
.wide,.cut{display:block}
tr.cut{display:table-row}
tr.beyond{display:none}
.cut{font-style:italic;list-style:none}
.drawing.chart{max-height:196pt}
.pair{display:grid;grid-template-columns:1fr 1fr;gap:0 12pt;align-items:start}
.rest{display:grid;grid-template-columns:1fr .9fr 1.1fr;gap:0 10pt;align-items:start}
.wrapped td:nth-child(n){white-space:normal}
.wrapped td:nth-child(3){white-space:nowrap}
.long{display:-webkit-box;-webkit-box-orient:vertical;-webkit-line-clamp:3;overflow:hidden;
white-space:normal}
footer{padding-top:2pt;font-size:6.6pt}
footer p{margin:0}
}
"""
)
