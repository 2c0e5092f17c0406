"""The page's script: asks for /state.json once a second and writes what it got; it never makes markup of it."""

JS = """'use strict';
const at = (id) => document.getElementById(id);
const put = (id, text) => { if (at(id).textContent !== text) at(id).textContent = text; };
const number = (value, unit) => value === null || value === undefined ? '--'
  : (unit === 'F' ? value * 1.8 + 32 : value).toFixed(0);
const OLD_S = 5;

function item(list, mark, text, kind) {
  const li = document.createElement('li');
  const b = document.createElement('b');
  b.textContent = mark;
  li.className = kind;
  li.append(b, document.createTextNode(text));
  list.append(li);
}

function fill(list, items) {
  const key = JSON.stringify(items);
  if (list.dataset.key === key) return;
  list.dataset.key = key;
  list.replaceChildren();
  for (const one of items) item(list, one[0], one[1], one[2]);
}

const SVG = 'http://www.w3.org/2000/svg';
function add(kind, values, text) {
  const made = document.createElementNS(SVG, kind);
  for (const [name, value] of Object.entries(values)) made.setAttribute(name, value);
  if (text !== undefined) made.textContent = text;
  at('axes').append(made);
}

function step(span, most, steps) {
  return steps.find((one) => span / one <= most) || steps[steps.length - 1];
}

function draw(history, marks, unit) {
  const rows = history.filter((row) => row[1] !== null);
  if (rows.length < 2) return;
  const inUnit = (v) => unit === 'F' ? v * 1.8 + 32 : v;
  const svg = at('plot');
  const wide = Math.max(240, svg.clientWidth), high = Math.max(120, svg.clientHeight);
  svg.setAttribute('viewBox', '0 0 ' + wide + ' ' + high);
  const from = rows[0][0], to = rows[rows.length - 1][0];
  const values = rows.flatMap((row) => [row[1], row[2], row[4]]).filter((v) => v !== null && v !== undefined)
    .map(inUnit);
  let low = Math.min(...values), high_v = Math.max(...values);
  if (high_v - low < 20) { const middle = (high_v + low) / 2; low = middle - 10; high_v = middle + 10; }
  const left = 44, right = wide - 12, top = 20, bottom = high - 34;
  const x = (t) => left + (right - left) * (t - from) / Math.max(1, to - from);
  const y = (v) => bottom - (bottom - top) * (v - low) / (high_v - low);
  at('axes').replaceChildren();
  const dv = step(high_v - low, 5, [5, 10, 20, 50, 100, 200]);
  for (let v = Math.ceil(low / dv) * dv; v <= high_v; v += dv) {
    add('line', { x1: left, x2: right, y1: y(v), y2: y(v) });
    add('text', { x: left - 5, y: y(v) + 4, 'text-anchor': 'end' }, v.toFixed(0));
  }
  add('text', { x: 2, y: 12 }, '\u00b0' + unit);
  const minutes = (to - from) / 60;
  const dm = step(minutes, Math.max(2, wide / 90), [0.5, 1, 2, 5, 10, 15, 30, 60, 120]);
  for (let m = 0; m <= minutes; m += dm) {
    const at_x = x(to - 60 * m);
    add('line', { x1: at_x, x2: at_x, y1: bottom, y2: bottom + 4 });
    add('text', { x: at_x, y: bottom + 17, 'text-anchor': m ? 'middle' : 'end' }, m ? '-' + m : 'now');
  }
  add('text', { x: left, y: high - 3 }, 'minutes');
  for (const [t, number] of marks) {
    if (t < from) continue;
    add('line', { class: 'bread', x1: x(t), x2: x(t), y1: top, y2: bottom });
    const anchor = x(t) > right - 30 ? 'end' : x(t) < left + 30 ? 'start' : 'middle';
    add('text', { x: x(t), y: 12, 'text-anchor': anchor }, 'bread ' + number);
  }
  const line = (column) => rows.filter((row) => row[column] !== null && row[column] !== undefined)
    .map((row, n) => (n ? 'L' : 'M') + x(row[0]).toFixed(1) + ' ' + y(inUnit(row[column])).toFixed(1)).join('');
  at('pvline').setAttribute('d', line(1));
  at('setline').setAttribute('d', line(2));
  at('stoneline').setAttribute('d', line(4));
  svg.setAttribute('aria-label', 'Dome, stone and setpoint over the last ' + minutes.toFixed(0) + ' minutes, '
    + low.toFixed(0) + ' to ' + high_v.toFixed(0) + ' degrees ' + unit);
}

let sound = null, called = '';
function beep(times) {
  if (!sound) return;
  for (let n = 0; n < times; n++) {
    const tone = sound.createOscillator(), loud = sound.createGain();
    loud.gain.value = 0.3;
    tone.frequency.value = 880;
    tone.connect(loud).connect(sound.destination);
    tone.start(sound.currentTime + 0.4 * n);
    tone.stop(sound.currentTime + 0.4 * n + 0.25);
  }
}
at('sound').addEventListener('click', () => {
  sound = sound ? (sound.close(), null) : new AudioContext();
  put('sound', sound ? 'sound: on' : 'sound: off');
  at('sound').setAttribute('aria-pressed', sound ? 'true' : 'false');
  beep(1);
});

function tell(cue) {
  at('cue').hidden = !cue;
  if (!cue) return;
  put('do', cue.do);
  put('when', cue.when);
  put('doing', cue.doing);
  at('cue').classList.toggle('now', cue.urgent);
  const call = cue.urgent ? cue.do : '';
  if (call && call !== called) beep(/^(trip|PULL)/.test(call) ? 6 : 3);
  called = call;
}

function show(state) {
  const now = state.status;
  const old = !state.connected || state.age_s === null || state.age_s > OLD_S;
  document.body.classList.toggle('old', old);
  put('link', old ? 'OLD VALUES' + (state.age_s === null ? '' : ' (' + state.age_s.toFixed(0) + ' s): ')
    + (state.word || 'the board does not answer') : 'live');
  at('stopbox').hidden = !state.may_stop;
  at('readonly').hidden = state.may_stop;
  if (!now) return;
  put('board', 'Oven on ' + state.board);
  const cue = state.cue, unit = cue ? cue.unit : 'C';
  const degrees = (v) => number(v, unit) + ' \\u00b0' + unit;
  put('pv', number(now.pv_c, unit));
  put('setpoint', number(now.setpoint_c, unit));
  for (const one of document.querySelectorAll('.unit')) one.textContent = ' \\u00b0' + unit;
  tell(cue);
  put('state', now.state + (now.stage === 'none' ? '' : ', ' + now.stage)
    + (now.left_s && !cue ? ', ' + now.left_s + ' s left' : ''));
  put('out', now.out_pct.toFixed(0) + ' %');
  put('top', now.heat_top ? 'ON' : 'off');
  put('deck', now.heat_deck ? 'ON' : 'off');
  put('contactor', now.contactor ? 'CLOSED' : 'open');
  put('stone', now.stone_pv_c === null && cue && cue.stone !== null
    ? cue.stone + ' \\u00b1 ' + cue.stone_off + ' \\u00b0' + unit : degrees(now.stone_pv_c));
  put('box', degrees(now.box_c));
  put('limit', degrees(now.limit_c));
  put('release', degrees(now.release_c));
  put('stuck', state.stuck_words);
  at('trip').hidden = state.trip === 'none';
  const told = cue && cue.do.startsWith('trip: ');  // below, in full
  put('trip', state.trip === 'none' ? '' : 'TRIP ' + state.trip.replaceAll('-', ' ')
    + (told ? '' : ': ' + state.trip_words));
  fill(at('permissives'), state.needed.map(([words, good, remedy]) => good ? ['ok', words, 'good']
    : ['!', words + (remedy ? ': ' + remedy : ''), 'bad']));
  const alarms = state.alarms_told.map(([name, how, words]) => ['!', name + ' (' + how + '). ' + words, 'bad']);
  fill(at('alarms'), alarms.length ? alarms : [['', 'none', '']]);
  draw(state.history, state.breads_at || [], unit);
}

async function round() {
  try {
    const reply = await fetch('state.json', { cache: 'no-store' });
    if (!reply.ok) throw new Error(reply.statusText);
    show(await reply.json());
  } catch (error) {
    document.body.classList.add('old');
    put('link', 'OLD VALUES: the laptop no longer answers (' + error.message + ')');
  }
  setTimeout(round, 1000);
}

at('stop').addEventListener('click', async () => {
  put('said', 'sending');
  try {
    const reply = await fetch('stop', { method: 'POST', headers: { 'X-Act': 'stop' } });
    put('said', await reply.text());
  } catch (error) {
    put('said', 'NOT SENT: ' + error.message + '. Stop at the oven.');
  }
});
round();
"""
