// The programmable I/O of one emulated chip, stepped by what happens instead of by wall time.
// Machines at full speed are stepped after every change at their pins or queues until they only go round in their
// waiting loops (SETTLE cycles), and in mid-transfer by exactly the cycles that a clock edge takes; so the phase of a
// loop at an edge is not the chip's (the interpreter of tests/player tries every phase). Slow machines, whose clock is
// divided, follow emulated time. Delays of instructions are kept; the two flip-flops at each input are not.
const SETTLE = 64;
const FULL = (m) => m.clockDivInt === 1 && !m.clockDivFrac;

export class PioClock {
  constructor(board) {
    this.board = board;
    this.slowAt = new Map();
  }
  attach(mcu) {
    this.mcu = mcu;
    this.slowAt.clear();
    for (const pio of mcu.pio) {
      pio.run = () => {};
      const write = pio.writeUint32.bind(pio);
      pio.writeUint32 = (offset, value) => {
        write(offset, value);
        if (offset === 0 || (offset >= 0x10 && offset <= 0x1c)) this.touched(); // CTRL, TXF
        pio.checkChangedPins(); // instructions that are executed at once move pins as well
      };
    }
  }
  touched() {
    this.step(SETTLE);
    for (const pio of this.mcu.pio)
      for (const m of pio.machines) if (m.enabled && !FULL(m) && !this.slowAt.has(m)) this.slow(pio, m, this.board.t);
  }
  one(m) {
    if ((m.left = (m.left ?? 1) - 1) > 0) return;
    const before = m.cycles;
    m.step();
    m.left = Math.max(1, m.cycles - before);
  }
  step(cycles) {
    if (this.within) return; // a pin that a step has moved must not start another one inside it
    this.within = true;
    for (let k = 0; k < cycles; k++)
      for (const pio of this.mcu.pio) {
        let any = false;
        for (const m of pio.machines)
          if (m.enabled && FULL(m)) {
            this.one(m);
            any = true;
          }
        if (any) pio.checkChangedPins();
      }
    this.within = false;
  }
  slow(pio, m, t) {
    const next = t + (m.clockDivInt + m.clockDivFrac / 256) / this.mcu.clkSys;
    this.slowAt.set(m, next);
    this.board.at(next, () => {
      if (!this.mcu.pio.includes(pio) || !m.enabled) return this.slowAt.delete(m);
      this.one(m);
      pio.checkChangedPins();
      this.slow(pio, m, next);
    });
  }
}
