// Two Picos joined pin to pin, in lock-step: the board under test and the player. JSON lines on standard input, one
// reply each; emulated time moves with {"op":"run","s":..} alone. The SPI unit of rp2040js speaks in bytes: its clock
// and data are made bits here, clocked against the player's programmable I/O (pioclock.mjs).
import fs from 'node:fs';
import { parseArgs } from 'node:util';
import { Board } from '../../pico/emulator/board.mjs';
import { bootromWords, serve } from '../../pico/emulator/lines.mjs';
import { Nets } from './nets.mjs';
import { PioClock } from './pioclock.mjs';

const text = { type: 'string', default: '' };
const { values: o } = parseArgs({
  options: { bootrom: text, board: text, player: text, wires: text, eraseMs: { type: 'string', default: '45' }, progMs: { type: 'string', default: '0.7' } },
});
const make = (file, usb = true) =>
  new Board({
    flash: new Uint8Array(fs.readFileSync(file)),
    bootrom: bootromWords(o.bootrom),
    flashOpts: { eraseMs: +o.eraseMs, progMs: +o.progMs },
    usb,
  });
const boards = { board: make(o.board), player: make(o.player) };
const { wires, spi } = JSON.parse(o.wires); // [[name, pin, player, held]], {"0": {sck, miso}}
const nets = new Nets(boards);
for (const [name, pin, player, held] of wires) nets.wire(name, pin, player, held);
const pio = new PioClock(boards.player);
const watched = new Map(wires.map(([name, pin]) => [pin, name]));
let events = [];
const say = (kind, ...rest) => events.push([+boards.board.t.toFixed(6), kind, ...rest]);
nets.onLevel = (who, pin, v) => {
  if (who === 'player') pio.touched();
  else if (watched.has(pin) && !/sck|miso|cs/.test(watched.get(pin))) say('level', watched.get(pin), v ? 1 : 0);
};
for (const [who, b] of Object.entries(boards)) {
  b.own = b.net.bind(b); // pins without a wire
  b.net = (i) => (nets.at[who].has(i) ? nets.moved(who, i) : b.own(i));
  b.onPin = () => {};
  b.serial = '';
  b.onSerial = (bytes) => (b.serial += bytes.toString('latin1'));
  b.onReset = (reason) => {
    b.serial += '';
    say('reset', who, reason);
  };
  b.plugged = true;
}
const RESET = 1; // GP of the player at the board's reset pin: it restarts as the line falls; how long it is held is not
// modelled
boards.player.onPin = (i, state) => {
  if (i === RESET && state === 0) boards.board.pendingReset = { reason: 0, scratch: null };
};
for (const bus of Object.values(spi)) nets.sck.set(bus.sck, 0);
const stats = { transfers: 0, bits: 0, hz: 0 };
boards.player.onBuild = (mcu) => {
  pio.attach(mcu);
  for (const g of nets.groups) nets.settle(g);
};
boards.board.onBuild = (mcu) => {
  for (const [unit, bus] of Object.entries(spi)) attachSpi(mcu, mcu.spi[+unit], bus);
  for (const g of nets.groups) nets.settle(g);
};
function attachSpi(mcu, unit, bus) {
  let got = 0;
  const alarm = mcu.clock.createAlarm(() => unit.completeTransmit(got));
  unit.onTransmit = () => {
    const hz = unit.clockFrequency || 1e6,
      half = Math.max(1, Math.round(boards.player.mcu.clkSys / hz / 2)),
      bits = unit.dataBits;
    stats.transfers++;
    stats.hz = hz;
    got = 0;
    const muxed = mcu.gpio[bus.sck].functionSelect === 1 && mcu.gpio[bus.miso].functionSelect === 1;
    for (let i = 0; i < bits && muxed; i++) {
      pio.step(half);
      got = (got << 1) | (mcu.gpio[bus.miso].rawInputValue ? 1 : 0); // sampled as the clock rises
      nets.sck.set(bus.sck, 1);
      pio.quiet = true;
      nets.moved('board', bus.sck);
      pio.step(half);
      nets.sck.set(bus.sck, 0);
      nets.moved('board', bus.sck);
      pio.quiet = false;
      stats.bits++;
    }
    alarm.schedule((bits / hz) * 1e9);
  };
}
const touched = pio.touched.bind(pio);
pio.touched = () => pio.quiet || touched(); // in mid-transfer the clock alone counts the cycles
for (const b of Object.values(boards)) b.onBuild(b.mcu);

function advance(s) {
  const end = boards.board.nanos + s * 1e9;
  while (!boards.board.reached(end)) {
    const idle = boards.board.mcu.core.waiting && boards.player.mcu.core.waiting;
    const to = Math.min(end, boards.board.nanos + (idle ? 250e3 : 100e3));
    boards.board.run(to, 1e6);
    while (!boards.player.reached(to) && !boards.player.halted) boards.player.run(to, 1e6);
    const halted = boards.board.halted ?? boards.player.halted;
    if (halted) throw new Error('a processor has halted: ' + halted);
  }
}
function drain() {
  const all = { t: boards.board.t, events, stats };
  for (const [who, b] of Object.entries(boards)) {
    all[who] = b.serial;
    all[who + '_usb'] = b.usbReady ? 1 : 0;
    b.serial = '';
  }
  events = [];
  return all;
}
function answer(q) {
  const b = boards[q.who];
  switch (q.op) {
    case 'run':
      advance(q.s);
      return drain();
    case 'send':
      b.send(Buffer.from(q.data, 'latin1'));
      return {};
    case 'reset': // 0 supply, 1 watchdog
      b.pendingReset = { reason: q.reason, scratch: q.reason ? b.watchdog.scratchData.slice() : null };
      return {};
    case 'reads': // whether anybody at the laptop takes what it sends
      b.setHostStalled(!q.yes);
      return {};
    case 'wire':
      nets.fault(q.kind, q.one, q.other);
      return {};
    case 'levels': {
      const found = {};
      for (const [name, pin, player] of wires)
        found[name] = [boards.board.mcu.gpio[pin].value, boards.player.mcu.gpio[player].value, boards.board.mcu.gpio[pin].rawInputValue ? 1 : 0];
      return { levels: found };
    }
    case 'flash':
      fs.writeFileSync(q.file, b.mcu.flash.slice(0, 2 << 20));
      return {};
    default:
      return { error: `no op is called ${q.op}` };
  }
}
await serve(answer);
