// What hangs on the chip's pins: two MAX31855 on one bus, two relays behind a contactor, sensed contacts that follow
// the outputs, and a small oven.
import { GPIOPinState as P } from 'rp2040js';
import { Max31855 } from './max31855.mjs';

export class Oven {
  // two elements, walls+air, stone, sheath; 10 ms half cycles
  constructor(o = {}) {
    Object.assign(
      this,
      {
        amb: 20,
        Pt: 1600,
        Pd: 1600,
        Ce: 300,
        Ge: 4,
        Ca: 3500,
        Gal: 3.3,
        Cs: 2500,
        Gs: 10,
        Gds: 3,
        tauTc: 8,
        tauSt: 12,
        dead: 1.5,
        noise: 0.1,
        cj: 28,
        cjMul: 0.01,
        seed: 1,
        h: 0.01,
      },
      o,
    );
    this.et = this.ed = this.ta = this.ts = this.tt = this.tp = this.o0 ?? this.amb;
    this.t = 0;
    this.hist = [];
    this.lid = 1;
    this.offset = 0;
    this.rev = 0;
    this.deadT = this.deadD = false;
    this.out = 0;
  }
  rnd() {
    const x = (this.seed = (this.seed * 1664525 + 1013904223) >>> 0) / 2 ** 32,
      y = (this.seed = (this.seed * 1664525 + 1013904223) >>> 0) / 2 ** 32;
    return Math.sqrt(-2 * Math.log(x + 1e-12)) * Math.cos(6.2831853 * y);
  }
  half(top, deck) {
    // one half-cycle
    const h = this.h,
      qt = top && !this.deadT ? this.Pt : 0,
      qd = deck && !this.deadD ? this.Pd : 0;
    const ft = this.Ge * (this.et - this.ta),
      fd = this.Ge * (this.ed - this.ta),
      fs = this.Gs * (this.ta - this.ts),
      fds = this.Gds * (this.ed - this.ts);
    this.et += ((qt - ft) / this.Ce) * h;
    this.ed += ((qd - fd - fds) / this.Ce) * h;
    this.ta += ((ft + fd - fs - this.Gal * this.lid * (this.ta - this.amb)) / this.Ca) * h;
    this.ts += ((fs + fds) / this.Cs) * h;
    this.hist.push(this.out ? this.amb : this.ta);
    const d = this.hist.length > this.dead / h ? this.hist.shift() : this.hist[0];
    this.tt += ((d - this.tt) / this.tauTc) * h;
    this.tp += ((this.ts - this.tp) / this.tauSt) * h;
    if (this.ta > this.maxA) this.t += h;
  }
  settleAt(c) {
    // everything at one temperature
    this.et = this.ed = this.ta = this.ts = this.tt = this.tp = c;
    this.hist = [];
  }
  get box() {
    return this.cj + this.cjMul * (this.ta - this.amb);
  }
  dome() {
    const tc = this.rev ? 2 * this.box - this.tt : this.tt;
    return { tc: tc + this.offset + this.noise * this.rnd(), cj: this.box + 0.03 * this.rnd() };
  }
  stone() {
    return { tc: this.tp + this.noise * this.rnd(), cj: this.box + 0.03 * this.rnd() };
  }
}

const DEF = {
  top: 10,
  deck: 11,
  contactor: 12,
  fan: 13,
  enable: 2,
  limit: 3,
  selector: 4,
  mirror: 5,
  stop: null,
  senseTop: 6,
  senseDeck: 7,
  fanOk: 8,
  door: 9,
  sck: 18,
  miso: 16,
  cs: 17,
  csStone: 20,
  spi: 0,
  senses: true,
  hz: 50,
};
export class Wiring {
  constructor(run, oven, map = {}) {
    this.m = { ...DEF, ...map };
    this.run = run;
    this.oven = oven;
    this.ev = [];
    this.closed = false;
    this.coil = false;
    this.weldTop = this.weldDeck = this.weldCon = false;
    this.contacts = { enable: 1, limit: 1, selector: 1, door: 1 };
    this.fanDead = false;
    this.fanSpin = 0;
    this.condTop = this.condDeck = false;
    this.halfWave = false;
    this.force = {};
    this.anyCond = 0;
    this.condEdges = [];
    const sense = { dome: () => oven.dome(), stone: () => oven.stone() };
    this.dome = new Max31855(run, { ...this.m }, sense.dome);
    this.chips = [this.dome];
    if (this.m.csStone != null) {
      this.stone = new Max31855(run, { ...this.m, cs: this.m.csStone }, sense.stone);
      this.chips.push(this.stone);
    }
    for (const c of this.chips) c.miso = () => {};
    this.next = 0;
    this.tick();
  }
  attach(mcu) {
    const s = mcu.spi[this.m.spi];
    let pend = 0;
    const alarm = mcu.clock.createAlarm(() => s.completeTransmit(pend));
    for (const c of this.chips) {
      c.selected = false;
      c.lastEnd = null;
    }
    s.onTransmit = () => {
      const sel = this.chips.filter((c) => c.selected),
        c = sel[0] ?? this.dome,
        hz = s.clockFrequency || 1e6,
        bits = s.dataBits;
      if (sel.length > 1) this.collide = (this.collide ?? 0) + 1;
      if (sel.length) {
        if (hz > 5e6) c.stats.tooFast++;
        if (s.spiMode !== 0) c.stats.badMode++;
      } else c.stats.unselected++;
      const muxed = mcu.gpio[this.m.sck].functionSelect === 1 && mcu.gpio[this.m.miso].functionSelect === 1;
      if (!muxed) c.stats.wrongPins++;
      let r = 0;
      if (muxed) for (let i = 0; i < bits; i++) r = (r << 1) | (sel.length ? c.nextBit() : (this.float ?? 0));
      c.stats.bytes++;
      pend = r;
      alarm.schedule((bits / hz) * 1e9);
    };
    this.inputs();
    this.outputs();
  }
  lvl(p) {
    if (p == null) return 0;
    if (this.run.shorts[p] !== undefined) return this.run.shorts[p];
    const s = this.run.mcu.gpio[p].value;
    return s === P.High ? 1 : 0;
  } // external pull-downs
  pin(i, st) {
    for (const c of this.chips) c.pin(i, st);
    if (i === this.m.cs && st === P.Low) this.onTick?.(this.run.t);
    if (i === this.m.top || i === this.m.deck || i === this.m.contactor || i === this.m.fan) this.outputs();
  }
  log(text) {
    this.ev.push([+this.run.t.toFixed(5), text]);
  }
  outputs() {
    const o = {
      top: this.lvl(this.m.top),
      deck: this.lvl(this.m.deck),
      contactor: this.lvl(this.m.contactor),
      fan: this.lvl(this.m.fan),
    };
    if (this.o) for (const k in o) if (o[k] !== this.o[k]) this.log(`${k} ${o[k]}`);
    this.o = o;
    const c = this.contacts,
      coil = !!(o.contactor && c.enable && c.limit && c.selector);
    if (coil !== this.coil) {
      this.coil = coil;
      const t = this.run.t + (coil ? 0.02 : 0.015);
      this.run.at(t, () => {
        if (this.coil === coil) this.setClosed(coil);
      });
    }
  }
  setClosed(v) {
    if (this.weldCon) v = true;
    if (this.m.contactor == null) v = true;
    if (v === this.closed) return;
    this.closed = v;
    this.log(v ? 'CONTACTOR closed' : 'CONTACTOR open');
    this.inputs();
  }
  inputs() {
    const r = this.run,
      m = this.m,
      c = this.contacts,
      d = (p, v) => {
        if (p != null && !(p in this.force)) r.drive(p, v);
      };
    d(m.enable, c.enable ? 0 : 1);
    d(m.limit, c.limit ? 0 : 1);
    d(m.selector, c.selector ? 0 : 1);
    d(m.door, c.door ? 0 : 1);
    d(m.mirror, this.closed ? 1 : 0);
    d(m.fanOk, this.fanSpin > 0.5 ? 0 : 1);
    if (m.stop != null) d(m.stop, 0);
    if (!this.condTop) d(m.senseTop, 1);
    if (!this.condDeck) d(m.senseDeck, 1);
    for (const p in this.force) r.drive(+p, this.force[p]);
  }
  weldContactor(v) {
    this.weldCon = v;
    if (!v && !this.coil) this.setClosed(false);
  }
  forcePin(p, v) {
    // hold a pad from outside, or let it go (undefined)
    if (v === undefined) {
      delete this.force[p];
      this.run.drive(p, undefined);
    } else this.force[p] = v;
    this.inputs();
  }
  contact(k, v) {
    this.contacts[k] = v;
    this.log(`contact ${k} ${v}`);
    this.inputs();
    this.outputs();
  }
  tick() {
    // each half cycle: zero-cross relays decide
    const r = this.run,
      t = this.next,
      h = 0.5 / this.m.hz;
    const live = this.m.contactor == null ? true : this.closed;
    this.hc = (this.hc ?? 0) + 1;
    const skip = this.halfWave && this.hc & 1;
    const ct = live && ((this.o?.top ?? 0) || this.weldTop) && !skip,
      cd = live && ((this.o?.deck ?? 0) || this.weldDeck);
    this.oven.half(ct, cd);
    const any = (ct ? 1 : 0) | (cd ? 2 : 0);
    if (any !== this.anyCond) {
      this.condEdges.push([+t.toFixed(3), any]);
      this.anyCond = any;
    }
    this.condTop = ct && !this.oven.deadT;
    this.condDeck = cd && !this.oven.deadD;
    // fan: normally closed contact, pin low = runs; needs OURS
    const fanOn = !this.fanDead && this.contacts.selector && !(this.o?.fan ?? 0);
    this.fanSpin += (((fanOn ? 1 : 0) - this.fanSpin) * h) / 0.8;
    const ok = this.fanSpin > 0.5;
    if (ok !== this.fanWas) {
      this.fanWas = ok;
      this.inputs();
    }
    if (this.m.senses)
      for (const [p, on] of [
        [this.m.senseTop, this.condTop],
        [this.m.senseDeck, this.condDeck],
      ])
        if (p != null && on && !(p in this.force)) {
          r.at(t + 0.001, () => p in this.force || r.drive(p, 0));
          r.at(t + 0.009, () => p in this.force || r.drive(p, 1));
        }
    this.next = t + h;
    r.at(this.next, () => this.tick());
  }
}
