"""Styles that more than one page wears."""

REPORT = """
:root { color-scheme: light; }
body { margin: 0 auto; max-width: 62rem; padding: 1.2rem 1rem 3rem; background: #fffdf8; color: #24211c;
  font: 1rem/1.5 Georgia, "Times New Roman", serif; overflow-wrap: break-word; }
h1 { font-size: 1.6rem; margin: 0 0 .2rem; font-weight: normal; }
h2 { font-size: 1.1rem; margin: 2rem 0 .4rem; border-bottom: 1px solid #24211c; }
p { margin: .3rem 0; }
.first { display: grid; grid-template-columns: repeat(auto-fit, minmax(8.2rem, 1fr)); gap: .2rem 1.2rem;
  margin: 1rem 0; padding: 0; }
.first div { border-top: 3px solid #24211c; padding: .3rem 0; }
.first dt { font-size: .85rem; }
.first dd { margin: 0; font-size: 1.35rem; }
.trip { border: 3px solid #24211c; border-left-width: 14px; padding: .5rem .8rem; margin: 1rem 0; font-weight: bold; }
.word { border-left: 5px double #24211c; padding-left: .7rem; }
svg, svg text { font-family: Helvetica, Arial, sans-serif; }
svg { display: block; width: 100%; height: auto; }
svg.narrow { display: none; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { text-align: left; vertical-align: top; padding: .22rem .8rem .22rem 0; border-bottom: 1px solid #d8d2c6; }
th { font-weight: normal; }
td.figure { white-space: nowrap; font-weight: bold; }
.what th { width: 32%; } .what td.figure { width: 16%; }
small { color: #5a5348; }
@media (max-width: 40rem) { svg.wide { display: none; } svg.narrow { display: block; }
  td.figure { white-space: normal; }
  .what tr { display: grid; grid-template-columns: 1fr auto; border-bottom: 1px solid #d8d2c6; }
  .what th, .what td { border: 0; padding-right: 0; } .what td.figure { text-align: right; padding-left: .8rem; }
  .what td:last-child { grid-column: 1 / 3; padding-top: 0; line-height: 1.25; } }
@media print { body { max-width: none; padding: 0; background: #fff; } svg.wide { display: block; }
  svg.narrow { display: none; } tr, .first, svg { break-inside: avoid; } h2 { break-after: avoid; } }
"""
