// Read-only 32-bit thermocouple frame (MAX31855 layout): D31..18 TC (0.25 C), D16 fault,
// D15..4 cold junction (0.0625 C), D2 short-to-VCC, D1 short-to-GND, D0 open.
// Serves the hardware SPI peripheral (byte-wise) and bit-banged SoftSPI (edge-wise on SCK).
import { GPIOPinState as P } from 'rp2040js';
const sat = (v, lo, hi) => Math.max(lo, Math.min(hi, v));
// Type K EMF, mV (ITS-90, NIST Monograph 175). The chip draws a straight line of 41.276 uV/K through it.
const KP = [
  -0.17600413686e-1, 0.38921204975e-1, 0.18558770032e-4, -0.99457592874e-7, 0.31840945719e-9, -0.56072844889e-12,
  0.56075059059e-15, -0.32020720003e-18, 0.97151147152e-22, -0.12104721275e-25,
];
const KN = [0, 0.39450128025e-1, 0.23622373598e-4, -0.32858906784e-6, -0.49904828777e-8];
const emfK = (t) =>
  t < 0
    ? KN.reduceRight((a, c) => a * t + c, 0)
    : KP.reduceRight((a, c) => a * t + c, 0) + 0.1185976 * Math.exp(-0.1183432e-3 * (t - 126.9686) ** 2);
export const chipReading = (tc, cj) => (emfK(tc) - emfK(cj)) / 0.041276 + cj;
export function frame({ tc, cj, oc = 0, scg = 0, scv = 0 }) {
  const f = oc || scg || scv ? 1 : 0;
  const t = f ? 0x1fff : sat(Math.round(chipReading(tc, cj) / 0.25), -8192, 8191),
    c = sat(Math.round(cj / 0.0625), -2048, 2047);
  return (((t & 0x3fff) << 18) | (f << 16) | ((c & 0xfff) << 4) | (scv << 2) | (scg << 1) | oc) >>> 0;
}
export class Max31855 {
  constructor(board, { spi = 0, cs = 17, sck = 18, miso = 16, convMs = 85 }, sense) {
    Object.assign(this, { board, spiN: spi, csPin: cs, sckPin: sck, misoPin: miso, convMs, sense });
    this.mode = {}; // oc, scg, scv, dead0, deadF, stuck, rawOr
    this.stats = {
      frames: 0,
      short: 0,
      long: 0,
      bytes: 0,
      unselected: 0,
      tooFast: 0,
      badMode: 0,
      wrongPins: 0,
      minGapMs: Infinity,
      maxGapMs: 0,
    };
    this.selected = false;
    this.pos = 0;
    this.word = 0;
    this.conv = { t: -1e9, w: 0 };
    this.lastEnd = null;
  }
  attach(mcu) {
    this.selected = false;
    this.lastEnd = null;
    const s = mcu.spi[this.spiN];
    s.onTransmit = (v) => {
      const hz = s.clockFrequency || 1e6,
        bits = s.dataBits;
      if (this.selected) {
        if (hz > 5e6) this.stats.tooFast++;
        if (s.spiMode !== 0) this.stats.badMode++;
      } else this.stats.unselected++;
      const muxed = mcu.gpio[this.sckPin].functionSelect === 1 && mcu.gpio[this.misoPin].functionSelect === 1;
      if (!muxed) this.stats.wrongPins++;
      let r = 0;
      if (muxed) for (let i = 0; i < bits; i++) r = (r << 1) | this.nextBit();
      this.stats.bytes++;
      alarm.schedule((bits / hz) * 1e9);
      pend = r;
    };
    let pend = 0;
    const alarm = mcu.clock.createAlarm(() => s.completeTransmit(pend));
    this.miso(0);
  }
  nextBit() {
    if (this.mode.deadF) return 1;
    if (this.mode.dead0 || !this.selected) return 0;
    const b = this.pos < 32 ? (this.word >>> (31 - this.pos)) & 1 : 0;
    this.pos++;
    return b;
  }
  miso(v) {
    this.board.drive(this.misoPin, v);
  }
  latch() {
    // the chip converts about every 70..100 ms and latches while CS is high
    const now = this.board.t * 1e3;
    if (now - this.conv.t >= this.convMs && !this.mode.stuck) {
      const s = this.sense();
      this.conv = { t: now, w: frame({ ...s, ...this.mode }) };
    }
    return this.conv.w;
  }
  pin(i, st) {
    if (i === this.csPin) {
      const low = st === P.Low;
      if (low && !this.selected) {
        this.word = this.latch();
        this.pos = 0;
        this.selected = true;
        this.bit0 = true;
        const now = this.board.t * 1e3;
        if (this.lastEnd != null) {
          const g = now - this.lastEnd;
          this.stats.minGapMs = Math.min(this.stats.minGapMs, g);
          this.stats.maxGapMs = Math.max(this.stats.maxGapMs, g);
        }
        this.lastEnd = now;
        this.miso(this.mode.deadF ? 1 : this.mode.dead0 ? 0 : this.word >>> 31);
      } else if (!low && this.selected) {
        this.selected = false;
        this.stats.frames++;
        if (this.pos && this.pos < 32) this.stats.short++;
        if (this.pos > 32) this.stats.long++;
        this.miso(this.mode.deadF ? 1 : 0);
      }
    } else if (i === this.sckPin && this.selected && st === P.Low && !this.bit0) {
      // SoftSPI, mode 0: shift on falling edge
      this.pos++;
      this.miso(this.mode.deadF ? 1 : this.mode.dead0 ? 0 : this.pos < 32 ? (this.word >>> (31 - this.pos)) & 1 : 0);
    } else if (i === this.sckPin && st === P.High) this.bit0 = false;
  }
}
