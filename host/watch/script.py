"""The page's script: asks for /state.json once a second and writes what it got; it never makes markup of it."""

JS = """'use strict';
const at = (id) => document.getElementById(id);
const put = (id, text) => { if (at(id).textContent !== text) at(id).textContent = text; };
const degrees = (value) => value === null || value === undefined ? '--' : value.toFixed(0) + ' \\u00b0C';
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

function draw(history) {
  const rows = history.filter((row) => row[1] !== null);
  if (rows.length < 2) return;
  const from = rows[0][0], to = rows[rows.length - 1][0];
  const values = rows.flatMap((row) => row[2] === null ? [row[1]] : [row[1], row[2]]);
  let low = Math.min(...values), high = Math.max(...values);
  if (high - low < 20) { const middle = (high + low) / 2; low = middle - 10; high = middle + 10; }
  const x = (t) => (600 * (t - from) / Math.max(1, to - from)).toFixed(1);
  const y = (v) => (230 - 220 * (v - low) / (high - low)).toFixed(1);
  const line = (column) => rows.filter((row) => row[column] !== null)
    .map((row, n) => (n ? 'L' : 'M') + x(row[0]) + ' ' + y(row[column])).join('');
  at('pvline').setAttribute('d', line(1));
  at('setline').setAttribute('d', line(2));
  put('from', '-' + ((to - from) / 60).toFixed(0) + ' min');
  put('range', low.toFixed(0) + ' to ' + high.toFixed(0) + ' \\u00b0C');
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
  put('pv', now.pv_c === null ? '--' : now.pv_c.toFixed(0));
  put('setpoint', now.setpoint_c === null ? '--' : now.setpoint_c.toFixed(0));
  put('state', now.state + (now.stage === 'none' ? '' : ', ' + now.stage)
    + (now.left_s ? ', ' + now.left_s + ' s left' : ''));
  put('out', now.out_pct.toFixed(0) + ' %');
  put('top', now.heat_top ? 'ON' : 'off');
  put('deck', now.heat_deck ? 'ON' : 'off');
  put('contactor', now.contactor ? 'CLOSED' : 'open');
  put('stone', degrees(now.stone_pv_c));
  put('box', degrees(now.box_c));
  put('limit', degrees(now.limit_c));
  put('release', degrees(now.release_c));
  put('stuck', state.stuck_words);
  at('trip').hidden = state.trip === 'none';
  put('trip', state.trip === 'none' ? '' : 'TRIP ' + state.trip + ': ' + state.trip_words);
  fill(at('permissives'), state.permissives.map(([name, good, remedy]) =>
    good ? ['yes', name, 'good'] : ['NO', name + (remedy ? ': ' + remedy : ''), 'bad']));
  const alarms = Object.entries(state.alarms).map(([name, how]) =>
    ['!', name + ' (' + how + ') ' + (state.alarm_words[name] || ''), 'bad']);
  fill(at('alarms'), alarms.length ? alarms : [['', 'none', '']]);
  draw(state.history);
}

async function round() {
  try {
    const reply = await fetch('/state.json', { cache: 'no-store' });
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
    const reply = await fetch('/stop', { method: 'POST', headers: { 'X-Act': 'stop' } });
    put('said', await reply.text());
  } catch (error) {
    put('said', 'NOT SENT: ' + error.message + '. Stop at the oven.');
  }
});
round();
"""
