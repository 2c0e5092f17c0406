// QSPI flash behind the RP2040's SSI: makes flash erase/program work (rp2040js ships a stub only),
// so that MicroPython can write its own littlefs. Timings: typical datasheet values, overridable.
import { BasePeripheral } from 'rp2040js';

export class IoQspi extends BasePeripheral {
  constructor(mcu, onCs) {
    super(mcu, 'IO_QSPI');
    this.r = new Uint32Array(64).fill(0);
    for (let i = 0; i < 6; i++) this.r[i * 2 + 1] = 0x1f;
    this.onCs = onCs;
  }
  readUint32(o) {
    return this.r[(o & 0xff) >> 2];
  }
  writeUint32(o, v) {
    this.r[(o & 0xff) >> 2] = v;
    if (o === 0x0c) this.onCs((v >>> 8) & 3); // OUTOVER of QSPI_SS: 2 = drive low, 3 = drive high
  }
}
export class XipCtrl extends BasePeripheral {
  // cache flush etc.: nothing to do
  readUint32(o) {
    return o === 8 ? 3 : 0;
  }
  writeUint32() {}
}
export class FlashSSI extends BasePeripheral {
  constructor(mcu, { size = 2 << 20, eraseMs = 45, progMs = 0.7 } = {}) {
    super(mcu, 'SSI');
    Object.assign(this, { size, eraseMs, progMs });
    this.reg = new Map();
    this.rx = [];
    this.en = 0;
    this.ctrlr0 = 0;
    this.cs = 'auto';
    this.frame = [];
    this.wel = false;
    this.busyUntil = 0;
    this.stats = { erases: 0, programs: 0, busyMs: 0 };
  }
  setCs(over) {
    const next = over === 2 ? 'low' : over === 3 ? 'high' : 'auto';
    if (next === this.cs) return;
    if (this.cs === 'low' || this.cs === 'auto') this.endFrame();
    this.cs = next;
  }
  get quad() {
    return ((this.ctrlr0 >>> 21) & 3) !== 0;
  }
  readUint32(o) {
    switch (o) {
      case 0x00:
        return this.ctrlr0;
      case 0x08:
        return this.en;
      case 0x20:
        return 0; // TXFLR: drained at once
      case 0x24:
        return this.rx.length; // RXFLR
      case 0x28:
        return 0x02 | 0x04 | (this.rx.length ? 0x08 : 0);
      case 0x58:
        return 0x51535049;
      case 0x5c:
        return 0x3430312a;
    }
    if (o >= 0x60 && o < 0xf0) {
      const v = this.rx.length ? this.rx.shift() : 0;
      if (this.cs === 'auto' && !this.rx.length) this.endFrame();
      return v;
    }
    return this.reg.get(o) ?? 0;
  }
  writeUint32(o, v) {
    if (o === 0x00) {
      this.ctrlr0 = v;
      return;
    }
    if (o === 0x08) {
      this.en = v & 1;
      if (!this.en) {
        this.rx = [];
        if (this.cs === 'auto') this.endFrame();
      }
      return;
    }
    if (o >= 0x60 && o < 0xf0) {
      if (!this.en) return;
      if (this.quad) {
        this.rx.length < 16 && this.rx.push(0);
        return;
      }
      const out = this.byte(v & 0xff);
      if (((this.ctrlr0 >>> 8) & 3) !== 1) this.rx.push(out);
      return;
    }
    this.reg.set(o, v);
  }
  byte(b) {
    if (this.cs === 'high') return 0xff;
    const f = this.frame;
    f.push(b);
    const n = f.length - 1;
    if (n === 0) return 0xff;
    switch (f[0]) {
      case 0x05:
        return (this.rp2040.clock.nanos < this.busyUntil ? 1 : 0) | (this.wel ? 2 : 0);
      case 0x35:
        return 0x02; // QE already set
      case 0x9f:
        return [0xef, 0x40, 0x15][n - 1] ?? 0;
      case 0x4b:
        return n < 5 ? 0xff : ([0xe6, 0x60, 0x58, 0x38, 0x83, 0x12, 0x34, 0x56][n - 5] ?? 0xff);
      case 0x03:
        return n < 4 ? 0xff : this.rp2040.flash[(((f[1] << 16) | (f[2] << 8) | f[3]) + n - 4) % this.size];
    }
    return 0xff;
  }
  endFrame() {
    const f = this.frame;
    this.frame = [];
    if (!f.length) return;
    const { flash, clock } = this.rp2040,
      addr = ((f[1] << 16) | (f[2] << 8) | f[3]) % this.size;
    const busy = (ms) => {
      this.busyUntil = clock.nanos + ms * 1e6;
      this.stats.busyMs += ms;
      this.wel = false;
    };
    switch (f[0]) {
      case 0x06:
        this.wel = true;
        break;
      case 0x04:
        this.wel = false;
        break;
      case 0x01:
      case 0x31:
        this.wel = false;
        break;
      case 0x20:
      case 0x52:
      case 0xd8: {
        if (!this.wel || f.length < 4) break;
        const len = { 0x20: 4096, 0x52: 32768, 0xd8: 65536 }[f[0]],
          a = addr & ~(len - 1);
        flash.fill(0xff, a, a + len);
        this.stats.erases++;
        busy(this.eraseMs * (len > 4096 ? 3 : 1));
        break;
      }
      case 0x02: {
        if (!this.wel || f.length < 5) break;
        const page = addr & ~255;
        for (let i = 4; i < f.length; i++) flash[page + ((addr + i - 4) & 255)] &= f[i];
        this.stats.programs++;
        busy(this.progMs);
        break;
      }
    }
  }
}
