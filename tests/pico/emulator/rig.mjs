// Lock-step rig: JSON lines on stdin, one JSON reply each on stdout. Emulated time moves only with {"op":"run","s":..}.
import fs from 'node:fs';
import { parseArgs } from 'node:util';
import { acts as makeActs } from './acts.mjs';
import { Board } from './board.mjs';
import { attachDisplay } from './display.mjs';
import { bootromWords, serve } from './lines.mjs';
import { Oven, Wiring } from './wiring.mjs';

const text = (d) => ({ type: 'string', default: d });
const { values: o } = parseArgs({
  options: {
    bootrom: text(''),
    flash: text(''), // a whole flash image
    oven: text('{}'),
    map: text('{}'),
    usb: text('on'),
    xip: text('0'), // cycles of a cache miss; 0 = no cache model
    i2c: text(''), // {"unit": 0, "addr": 60}: a display that acknowledges
    eraseMs: text('45'),
    progMs: text('0.7'),
  },
});
const run = new Board({
  flash: new Uint8Array(fs.readFileSync(o.flash)),
  bootrom: bootromWords(o.bootrom),
  usb: o.usb !== 'off',
  flashOpts: { eraseMs: +o.eraseMs, progMs: +o.progMs },
});
run.xipMiss = +o.xip;
const oven = new Oven(JSON.parse(o.oven));
const w = new Wiring(run, oven, JSON.parse(o.map));
const acts = makeActs(run, oven, w);

// A tick begins when the dome's chip select falls and ends at the first wait of more than 4 ms after it:
// rows of [start in s, length in ms, of it executing in ms]; `gaps`: [start in s, since the tick before in ms].
let ticks = [];
let gaps = [];
let last = null;
let start = null;
let busyAtStart = 0;
w.onTick = (t) => {
  if (last !== null) gaps.push([+t.toFixed(4), +((t - last) * 1e3).toFixed(2)]);
  last = start = t;
  busyAtStart = run.busyNs;
};
run.onWait = (now, next) => {
  if (start === null || next - now <= 4e6) return;
  ticks.push([
    +start.toFixed(4),
    +(now / 1e6 - start * 1e3).toFixed(2),
    +((run.busyNs - busyAtStart) / 1e6).toFixed(2),
  ]);
  start = null;
};
run.onPin = (i) => w.pin(i, run.mcu.gpio[i].value);
run.onBuild = (m) => {
  w.attach(m);
  if (o.i2c) attachDisplay(run, m, JSON.parse(o.i2c));
  if (run.xipMiss) run.useXip(m, run.xipMiss);
};
const CAUSES = ['power', 'watchdog', 'forced'];
let resets = [];
run.onReset = (reason) => {
  resets.push([+run.t.toFixed(4), CAUSES[reason]]);
  last = start = null;
};
let serial = []; // whole lines with the time of their end
let raw = ''; // every byte
let begun = ''; // of the line that has not ended
run.onSerial = (bytes) => {
  raw += bytes.toString('latin1');
  begun += bytes.toString('latin1');
  let i;
  while ((i = begun.indexOf('\n')) >= 0) {
    serial.push([+run.t.toFixed(4), begun.slice(0, i).replace(/\r$/, '')]);
    begun = begun.slice(i + 1);
  }
};
run.onBuild(run.mcu);

const truth = () => ({
  t: +run.t.toFixed(4),
  usb: run.usbReady ? 1 : 0,
  unsent: run.txq.length, // bytes for the board that it has not taken
  chamber: +oven.ta.toFixed(2),
  tip: +oven.tt.toFixed(2),
  stone: +oven.ts.toFixed(2),
  element_top: +oven.et.toFixed(0),
  element_deck: +oven.ed.toFixed(0),
  ...w.o,
  closed: w.closed ? 1 : 0, // the contactor's contacts
  conducting: w.anyCond, // bit 0 top, bit 1 deck
});
function drain() {
  const all = { ...truth(), serial, raw, begun, events: w.ev, edges: w.condEdges, resets, halted: run.halted };
  serial = [];
  raw = '';
  resets = [];
  w.ev = [];
  w.condEdges = [];
  return all;
}
function stats(reset) {
  const chips = w.chips.map((c) => c.stats);
  const all = { ticks, gaps, chips, flash: run.ssi.stats, xip: run.xip, i2c_bytes: run.i2cBytes, busy_ns: run.busyNs };
  if (reset) {
    ticks = [];
    gaps = [];
  }
  return { ...all, collisions: w.collide ?? 0 };
}
function advance(s) {
  const until = run.nanos + s * 1e9;
  while (!run.reached(until) && !run.halted) run.run(until, 50);
}
function until(q) {
  // a condition given as JavaScript on x (the truth), serial and events; looked at each `step` seconds
  const holds = new Function('x', 'serial', 'events', `return ${q.js}`);
  const end = run.nanos + q.s * 1e9;
  while (!run.reached(end) && !run.halted) {
    advance(Math.min(q.step ?? 0.25, (end - run.nanos) / 1e9));
    if (holds(truth(), serial, w.ev)) return true;
  }
  return false;
}
function act(words) {
  const [name, ...values] = words.trim().split(/\s+/);
  w.log(`ACT ${words}`);
  acts[name](...values);
}
function answer(q) {
  switch (q.op) {
    case 'run':
      advance(q.s);
      return drain();
    case 'until':
      return { ok: until(q), ...drain() };
    case 'send':
      run.send(Buffer.from(q.data, 'latin1'));
      return {};
    case 'act':
      act(q.words);
      return {};
    case 'at':
      run.at(q.t, () => act(q.words));
      return {};
    case 'flash':
      fs.writeFileSync(q.file, run.mcu.flash.slice(0, 2 << 20));
      return {};
    case 'stats':
      return stats(q.reset);
    default:
      return { error: `no op is called ${q.op}` };
  }
}
await serve(answer);
