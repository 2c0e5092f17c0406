"""The page of the live view: structure and style. No outside resource, no inline script; script.py is served beside it.

Every state has its word: colour and weight only repeat it. Works from 320 px up; figures first, picture below.
"""

from host.page import document

HEAD = (
    '<link rel="stylesheet" href="watch.css">',
    '<link rel="icon" href="data:,">',
    '<script src="watch.js" defer></script>',
)
BODY = """<header><h1 id="board">Oven</h1><p id="link" role="status">waiting for the first values</p></header>
<p id="trip" class="trip" role="alert" hidden></p>
<main>
<section id="cue" class="cue" aria-label="What to do and when">
<p id="do" role="status" aria-live="polite">--</p><p id="when">--</p><p id="doing"></p>
<p><button id="sound" type="button" aria-pressed="false">sound: off</button></p>
</section>
<section class="dome" aria-label="Dome">
<p class="big"><span id="pv">--</span><small class="unit"> °C</small></p>
<p>dome, setpoint <b id="setpoint">--</b><span class="unit"> °C</span></p>
<p id="state" class="state">--</p>
</section>
<section class="facts" aria-label="Heat">
<dl>
<div><dt>output</dt><dd id="out">--</dd></div>
<div><dt>top relay</dt><dd id="top">--</dd></div>
<div><dt>deck relay</dt><dd id="deck">--</dd></div>
<div><dt>contactor</dt><dd id="contactor">--</dd></div>
<div><dt>stone</dt><dd id="stone">--</dd></div>
<div><dt>box</dt><dd id="box">--</dd></div>
<div><dt>limit</dt><dd id="limit">--</dd></div>
<div><dt>released to</dt><dd id="release">--</dd></div>
</dl>
<p class="stuck">If the relay stuck now: <b id="stuck">--</b></p>
<p id="stopbox" hidden><button id="stop" type="button">STOP HEAT</button> <span id="said" role="status"></span></p>
<p id="readonly">This page only shows. Stop at the oven or at the laptop's keyboard.</p>
</section>
<section class="plot" aria-label="Dome and setpoint over time">
<svg id="plot" role="img" aria-label="Dome, stone and setpoint over time">
<g id="axes"></g><path id="setline" fill="none"></path><path id="stoneline" fill="none"></path>
<path id="pvline" fill="none"></path></svg>
<p class="key"><span class="solid">dome</span> <span class="dashdot">stone</span>
<span class="dashed">setpoint</span></p>
</section>
<section aria-label="Permissives"><h2>What heat needs</h2><ul id="permissives"></ul></section>
<section aria-label="Alarms"><h2>Alarms</h2><ul id="alarms"><li>none</li></ul></section>
</main>
<footer><p>Never leave a hot oven alone. This page protects nobody: the independent limiter and the plug do.</p>
</footer>"""

CSS = """
:root { color-scheme: light; --ink: #1d2328; --ground: #f4f1ea; --card: #fffefb; --line: #b9b2a4; --soft: #4c4a44;
  --bad: #8c1717; --good: #1c5a34; --stone: #17507a; }
@media (prefers-color-scheme: dark) { :root { color-scheme: dark; --ink: #f1ede4; --ground: #17191c; --card: #212428;
  --line: #565b61; --soft: #bdb8ae; --bad: #ff9d8f; --good: #86d6a4; --stone: #9accf0; } }
* { box-sizing: border-box; }
body { margin: 0; background: var(--ground); color: var(--ink); font: 1rem/1.45 "Trebuchet MS", Verdana, sans-serif;
  overflow-wrap: anywhere; }
header { display: flex; flex-wrap: wrap; justify-content: space-between; align-items: baseline; gap: 0 1rem;
  padding: .6rem 1rem; border-bottom: 2px solid var(--ink); }
h1 { font-size: 1.1rem; margin: 0; } h2 { font-size: 1rem; margin: 0 0 .3rem; }
p { margin: .2rem 0; }
main { display: grid; grid-template-columns: minmax(0, 1fr); gap: .8rem; padding: .8rem 1rem; max-width: 80rem;
  margin: 0 auto; }
section { background: var(--card); border: 1px solid var(--line); border-radius: .3rem; padding: .7rem .9rem; }
.cue { border: 3px solid var(--ink); } .cue p { margin: 0; }
#do { font-size: clamp(1.5rem, 7vw, 2.6rem); font-weight: bold; line-height: 1.15; }
#when { font-size: clamp(1.5rem, 9vw, 3.4rem); line-height: 1.1; font-variant-numeric: tabular-nums; }
#doing { color: var(--soft); margin: .2rem 0 .5rem; }
.cue.now { background: var(--ink); color: var(--ground); } .cue.now #doing { color: var(--ground); }
#sound { background: transparent; color: var(--ink); border: 2px solid var(--ink); font-size: 1rem;
  min-height: 2.8rem; }
.cue.now #sound { color: var(--ground); border-color: var(--ground); }
.big { font-size: clamp(3.4rem, 20vw, 6.5rem); line-height: 1; font-variant-numeric: tabular-nums; margin: 0; }
.big small { font-size: 1.4rem; }
.state { font-size: 1.25rem; font-weight: bold; }
dl { display: grid; grid-template-columns: repeat(auto-fit, minmax(7.2rem, 1fr)); gap: .3rem .9rem; margin: 0; }
dl div { border-bottom: 1px solid var(--line); } dt { font-size: .85rem; color: var(--soft); }
dd { margin: 0; font-size: 1.15rem; font-weight: bold; font-variant-numeric: tabular-nums; }
.stuck { margin-top: .6rem; }
ul { list-style: none; margin: 0; padding: 0; }
li { padding: .1rem 0; } li b { display: inline-block; min-width: 1.9rem; }
li.good b { color: var(--good); } li.bad { border-left: 5px solid var(--bad); padding-left: .5rem; }
li.bad b { color: var(--bad); }
.trip { margin: .8rem 1rem 0; padding: .6rem .9rem; border: 3px solid var(--bad); border-left-width: 14px;
  background: var(--card); color: var(--bad); font-weight: bold; font-size: 1.15rem; }
.old { outline: 4px double var(--bad); outline-offset: -4px; } .old #link { color: var(--bad); font-weight: bold; }
.old #pv, .old #setpoint, .old #state, .old #stuck, .old dd, .old #do, .old #when { color: var(--soft);
  text-decoration: line-through; }
.old .cue.now { background: var(--card); color: var(--ink); }
.old .cue.now #doing, .old .cue.now #sound { color: var(--ink); border-color: var(--ink); }
button { font: inherit; font-size: 1.2rem; font-weight: bold; min-height: 3.2rem; padding: .4rem 1.4rem;
  border-radius: .3rem; border: 3px solid var(--bad); background: var(--bad); color: var(--card); }
button:focus-visible { outline: 3px solid var(--ink); outline-offset: 3px; }
svg { display: block; width: 100%; height: clamp(9rem, 30vw, 17rem); background: var(--ground); }
svg path { stroke: var(--ink); stroke-width: 2.5; }
svg text { fill: var(--ink); font-size: 12px; } svg line { stroke: var(--line); stroke-width: 1; }
svg line.bread { stroke: var(--soft); stroke-dasharray: 2 3; }
svg #stoneline { stroke: var(--stone); stroke-width: 2; stroke-dasharray: 9 4 2 4; }
svg #setline { stroke-width: 1.5; stroke-dasharray: 7 5; stroke: var(--soft); }
.key { font-size: .85rem; }
.key span::before { content: ""; display: inline-block; width: 2rem; margin: 0 .4rem .25rem 0;
  border-top: 3px solid var(--ink); }
.key .dashdot::before { border-top: 2px dotted var(--stone); }
.key .dashed::before { border-top: 2px dashed var(--soft); }
footer { padding: 0 1rem 1rem; text-align: center; font-size: .9rem; }
[hidden] { display: none; }
@media (min-width: 46rem) { main { grid-template-columns: minmax(0, 1fr) minmax(0, 1fr); }
  .plot, .cue { grid-column: 1 / -1; } }
@media (min-width: 72rem) { main { grid-template-columns: minmax(0, 1fr) minmax(0, 1fr) minmax(0, 1fr); }
  .plot { grid-column: 1 / 3; grid-row: 3 / 5; }
  svg { height: 22rem; } .big { font-size: 6.5rem; } .facts { grid-column: 2 / 4; } }
"""

HTML = document("Oven, live", [BODY], style=None, head=HEAD, policy=None)  # the server sends the policy
