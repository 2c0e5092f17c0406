// One Pico: rp2040js chip, flash that survives resets, USB-CDC that goes and comes with them, pin nets, a run loop,
// and a cache model of the flash (`useXip`) for those who ask for it.
import { RP2040, USBCDC, ConsoleLogger, LogLevel, GPIOPinState as P } from 'rp2040js';
import { FlashSSI, IoQspi, XipCtrl } from './flash.mjs';

export class Board {
  constructor({ flash, bootrom, usb = true, flashOpts = {}, log = LogLevel.Error }) {
    Object.assign(this, { bootrom, usb, flashOpts, log });
    this.image = flash;
    this.baseNanos = 0;
    this.boots = 0;
    this.ext = new Array(30).fill(undefined);
    this.shorts = {};
    this.onSerial = () => {};
    this.onPin = () => {};
    this.onReset = () => {};
    this.onUsb = () => {};
    this.onBuild = () => {};
    this.hostStalled = false;
    this.pendingReset = null;
    this.timers = [];
    this.txq = [];
    this.busyNs = 0; // time in which the processor executed, not waited
    this.build({ reason: 0, scratch: null });
  }
  get nanos() {
    return this.baseNanos + this.mcu.clock.nanos;
  }
  get t() {
    return this.nanos / 1e9;
  }
  reached(nanos) {
    // as run() counts: the sum `nanos` may be rounded below a moment that the chip's own clock has reached, and then
    // stays there for ever
    return this.mcu.clock.nanosCounter >= nanos - this.baseNanos;
  }
  build({ reason, scratch }) {
    if (this.mcu) {
      this.image = this.mcu.flash.slice(0, 2 << 20);
      this.baseNanos += this.mcu.clock.nanos;
    }
    const mcu = (this.mcu = new RP2040());
    mcu.logger = new ConsoleLogger(this.log);
    mcu.loadBootrom(this.bootrom);
    mcu.flash.set(this.image);
    const before = this.ssi?.stats;
    const ssi = (this.ssi = new FlashSSI(mcu, this.flashOpts));
    if (before) ssi.stats = before; // counted over resets
    mcu.peripherals[0x18000] = ssi;
    mcu.peripherals[0x40018] = new IoQspi(mcu, (o) => ssi.setCs(o));
    mcu.peripherals[0x14000] = new XipCtrl(mcu, 'XIP_CTRL');
    const wd = (this.watchdog = mcu.peripherals[0x40058]);
    wd.reason = reason;
    if (scratch) wd.scratchData.set(scratch);
    wd.onWatchdogTrigger = () => {
      wd.alarm.enable = false;
      this.pendingReset = { reason: wd.reason, scratch: wd.scratchData.slice() };
    };
    mcu.onBreak = (c) => {
      this.halted = 'BKPT ' + c;
    };
    // pins: output level is readable back, inputs get external level, else pull
    mcu.gpio.forEach((g, i) =>
      g.addListener((s) => {
        this.net(i);
        this.onPin(i, s);
      }),
    );
    this.ext.forEach((_, i) => this.net(i));
    this.usbReady = false;
    this.txq.length = 0;
    if (this.usb) this.buildUsb();
    mcu.core.PC = 0x10000000;
    this.boots++;
    this.onBuild(mcu);
  }
  buildUsb() {
    const { mcu } = this,
      u = mcu.usbCtrl,
      cdc = (this.cdc = new USBCDC(u));
    cdc.onDeviceConnected = () => {
      this.usbReady = true;
      this.onUsb();
    };
    cdc.onSerialData = (b) => this.onSerial(Buffer.from(b));
    // rp2040js answers every OUT poll at once with an empty packet (an interrupt storm); NAK instead
    this.outArmed = 0;
    u.onEndpointRead = (ep, size) => {
      if (ep === cdc.outEndpoint) {
        this.outArmed = size;
        this.pumpOut();
      }
    };
    const ind = u.indicateBufferReady.bind(u);
    this.held = [];
    u.indicateBufferReady = (ep, out) => {
      if (!out && this.hostStalled && ep === cdc.inEndpoint) {
        this.held.push(() => ind(ep, out));
        return;
      }
      ind(ep, out);
    };
  }
  setHostStalled(v) {
    this.hostStalled = v;
    if (!v && this.held) {
      for (const f of this.held) f();
      this.held = [];
    }
  }
  setFlashTimes(eraseMs, progMs) {
    this.flashOpts = { eraseMs, progMs };
    Object.assign(this.ssi, this.flashOpts);
  }
  send(buf) {
    for (const c of buf) this.txq.push(c);
    if (this.usb) this.pumpOut();
  }
  pumpOut() {
    if (!this.outArmed || !this.txq.length || !this.usbReady) return;
    const n = Math.min(this.outArmed, this.txq.length, 64);
    this.outArmed = 0;
    this.mcu.usbCtrl.endpointReadDone(this.cdc.outEndpoint, Uint8Array.from(this.txq.splice(0, n)));
  }
  net(i) {
    // resolve a pad's level
    const g = this.mcu.gpio[i],
      s = g.value,
      e = this.ext[i];
    const short = this.shorts[i];
    if (short !== undefined) {
      // a source stronger than the pad's driver: both the pad's input and what hangs on it see that level
      if (g.rawInputValue !== !!short) g.setInputValue(!!short);
      return;
    }
    const v = s === P.High ? true : s === P.Low ? false : e !== undefined ? !!e : s === P.InputPullUp;
    if (g.rawInputValue !== v) g.setInputValue(v);
  }
  drive(i, v) {
    this.ext[i] = v;
    this.net(i);
  } // v: 0, 1 or undefined (released)
  level(i) {
    return this.mcu.gpio[i].rawInputValue;
  }
  at(tSec, fn) {
    const t = tSec * 1e9,
      q = this.timers;
    let i = q.length;
    while (i > 0 && q[i - 1].t > t) i--;
    q.splice(i, 0, { t, fn });
  }
  useXip(mcu, miss) {
    const N = 1024,
      tags = new Int32Array(2 * N).fill(-1),
      lru = new Uint8Array(N),
      self = this;
    this.xip = this.xip ?? { hit: 0, miss: 0 };
    this.penalty = 0;
    const touch = (a) => {
      const line = (a & 0xffffff) >>> 3,
        s = line & (N - 1),
        tag = line >>> 10,
        i = s << 1;
      if (tags[i] === tag) {
        lru[s] = 1;
        self.xip.hit++;
      } else if (tags[i + 1] === tag) {
        lru[s] = 0;
        self.xip.hit++;
      } else {
        self.xip.miss++;
        self.penalty += miss;
        const w = lru[s];
        tags[i + w] = tag;
        lru[s] = 1 - w;
      }
    };
    const r16 = mcu.readUint16.bind(mcu),
      r32 = mcu.readUint32.bind(mcu),
      r8 = mcu.readUint8.bind(mcu);
    const inX = (a) => a >= 0x10000000 && a < 0x11000000;
    mcu.readUint16 = (a) => {
      if (inX(a)) touch(a);
      return r16(a);
    };
    mcu.readUint32 = (a) => {
      if (inX(a)) touch(a);
      return r32(a);
    };
    mcu.readUint8 = (a) => {
      if (inX(a)) touch(a);
      return r8(a);
    };
  }
  run(untilNanos, wallMs = 10) {
    const wallEnd = performance.now() + wallMs;
    let n = 0;
    const xip = this.xipMiss > 0;
    for (;;) {
      let { mcu } = this,
        { core, clock } = mcu;
      let limit = Math.min(untilNanos, this.timers.length ? this.timers[0].t : Infinity) - this.baseNanos;
      let nsc = 1e9 / mcu.clkSys,
        k = 0;
      while (clock.nanosCounter < limit && k < 20000 && !this.pendingReset) {
        if (core.waiting) {
          const next = clock.nextAlarm ? Math.min(clock.nextAlarm.nanos, limit) : limit;
          this.onWait?.(
            this.baseNanos + clock.nanosCounter,
            this.baseNanos + (clock.nextAlarm ? clock.nextAlarm.nanos : clock.nanosCounter + 1e9),
          );
          clock.tick(Math.max(next - clock.nanosCounter, 0));
          k += 50;
        } else {
          let cyc = core.executeInstruction();
          if (xip && this.penalty) {
            cyc += this.penalty;
            this.penalty = 0;
          }
          const dt = cyc * nsc;
          this.busyNs += dt;
          const now = (clock.nanosCounter += dt);
          if (clock.nextAlarm && clock.nextAlarm.nanos <= now) clock.tick(0);
          k++;
          n++;
        }
      }
      if (this.pendingReset) {
        const p = this.pendingReset;
        this.pendingReset = null;
        this.onReset(p.reason);
        this.build(p);
        continue;
      }
      while (this.timers.length && this.reached(this.timers[0].t)) this.timers.shift().fn();
      if (this.reached(untilNanos) || performance.now() > wallEnd) return n;
    }
  }
}
