"""Styles that more than one page wears."""

REPORT = """
:root { color-scheme: light; --ink: #24211c; --ground: #fffdf8; --line: #d8d2c6; --soft: #5a5348; }
@media (prefers-color-scheme: dark) { :root { color-scheme: dark; --ink: #f1ede4; --ground: #1a1917; --line: #4d483f;
  --soft: #bfb8aa; } }
body { margin: 0 auto; max-width: 62rem; padding: 1.2rem 1rem 3rem; background: var(--ground); color: var(--ink);
  font: 1rem/1.5 Georgia, "Times New Roman", serif; overflow-wrap: break-word; }
h1 { font-size: 1.6rem; margin: 0 0 .2rem; font-weight: normal; }
h2, summary { font-size: 1.1rem; margin: 2rem 0 .4rem; border-bottom: 1px solid var(--ink); }
summary { font-weight: bold; min-height: 2.75rem; cursor: pointer; } details { margin: 0; }
p { margin: .3rem 0; }
.first { display: grid; grid-template-columns: repeat(auto-fit, minmax(8.2rem, 1fr)); gap: .2rem 1.2rem;
  margin: 1rem 0; padding: 0; }
.first div { border-top: 3px solid var(--ink); padding: .3rem 0; }
.first dt { font-size: .85rem; }
.first dd { margin: 0; font-size: 1.35rem; }
.trip { border: 3px solid var(--ink); border-left-width: 14px; padding: .5rem .8rem; margin: 1rem 0;
  font-weight: bold; }
.word { border-left: 5px double var(--ink); padding-left: .7rem; }
svg, svg text { font-family: Helvetica, Arial, sans-serif; }
svg { display: block; width: 100%; height: auto; }
svg.narrow { display: none; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: .22rem .8rem .22rem 0; border-bottom: 1px solid var(--line); }
th { font-weight: normal; }
td.figure { white-space: nowrap; font-weight: bold; }
.what th { width: 32%; } .what td.figure { width: 16%; }
small { color: var(--soft); }
@media (max-width: 40rem) { svg.wide { display: none; } svg.narrow { display: block; }
  .what tr { display: grid; grid-template-columns: minmax(0, 1fr) max-content; border-bottom: 1px solid var(--line); }
  .what th, .what td { border: 0; padding-right: 0; width: auto; }
  .what td.figure { width: auto; max-width: 58vw; white-space: normal; overflow-wrap: normal; text-align: right;
    padding-left: .8rem; }
  .what td:last-child { grid-column: 1 / 3; padding-top: 0; line-height: 1.25; } }
@page { margin: 14mm; }
@media print { :root { color-scheme: light; --ink: #24211c; --ground: #fff; --line: #d8d2c6; --soft: #5a5348; }
  body { max-width: none; padding: 0; font-size: 10pt; } svg.wide { display: block; }
  svg.narrow { display: none; } tr, .first, svg { break-inside: avoid; } h2 { break-after: avoid; }
  .scroll { overflow: visible; } .scroll table { font-size: 8pt; }
  details::details-content { content-visibility: visible; } }
"""

PLAN = """
:root { color-scheme: light; }
@page { size: auto; margin: 14mm; }
body { font: 10pt/1.3 sans-serif; color: #000; background: #fff; max-width: 190mm; margin: 0 auto; padding: .6rem; }
h1 { font-size: 16pt; margin: 0 0 2mm; } h2 { font-size: 12pt; margin: 6mm 0 2mm; border-bottom: 1px solid #000; }
.scroll { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: 8.5pt; }
td, th { border: 1px solid #777; padding: 1mm 1.5mm; text-align: left; vertical-align: top; }
tr { break-inside: avoid; } .grade { font-weight: bold; text-transform: uppercase; }
.stop { background: #000; color: #fff; } .small { font-size: 9pt; } .verify { font-style: italic; }
.line { border-bottom: 1px solid #000; display: inline-block; min-width: 40mm; }
svg { break-inside: avoid; max-width: none; }
@media (max-width: 40rem) { .scroll svg { min-width: 68rem; } .scroll table { min-width: 34rem; font-size: 10pt; } }
@media print { body { padding: 0; } .scroll { overflow: visible; } svg { max-width: 100%; } }
"""
