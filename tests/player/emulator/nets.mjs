// The wires between two chips: what each net's level is, by who drives it how strongly.
// A short to a rail beats the board's pin, this beats the player's behind its resistor, this a resistor to GND, this
// the pulls of the chips. Levels are 0 and 1; analogue edges and half levels do not exist here.
const LOW = 0, HIGH = 1, UP = 3, DOWN = 4; // GPIOPinState of rp2040js

export class Nets {
  constructor(ends) {
    this.boards = ends; // {board, player}
    this.groups = [];
    this.at = { board: new Map(), player: new Map() };
    this.sck = new Map(); // pin of the board -> level that its SPI unit gives it
    this.onLevel = () => {};
  }
  wire(name, pin, player, held) {
    this.join({ name, ends: [['board', pin], ['player', player]], held: held ? 1 : 0, rail: undefined });
  }
  join(group) {
    this.groups.push(group);
    for (const [who, pin] of group.ends) this.at[who].set(pin, group);
  }
  drop(group) {
    this.groups.splice(this.groups.indexOf(group), 1);
  }
  find(name) {
    const g = this.groups.find((g) => g.name.split('+').includes(name));
    if (!g) throw new Error('no wire is called ' + name);
    return g;
  }
  fault(kind, a, b) {
    const one = this.find(a);
    if (kind === 'rail') one.rail = b === 'free' ? undefined : +b;
    else if (kind === 'lift') one.held = 0;
    else if (kind === 'open') {
      this.drop(one);
      this.join({ ...one, ends: one.ends.filter(([who]) => who === 'board') });
      this.join({ name: one.name + '~', ends: one.ends.filter(([who]) => who === 'player'), held: 0 });
    } else if (kind === 'join') {
      const back = this.find(a), loose = this.find(a + '~');
      this.drop(back);
      this.drop(loose);
      this.join({ ...back, ends: [...back.ends, ...loose.ends] });
    } else {
      const other = this.find(b);
      this.drop(one);
      this.drop(other);
      if (kind === 'short')
        this.join({ name: a + '+' + b, ends: [...one.ends, ...other.ends], held: one.held || other.held });
      else if (kind === 'swap') {
        const side = (g, w) => g.ends.filter(([who]) => who === w);
        this.join({ ...one, ends: [...side(one, 'board'), ...side(other, 'player')] });
        this.join({ ...other, ends: [...side(other, 'board'), ...side(one, 'player')] });
      } else throw new Error('no fault is called ' + kind);
    }
    for (const g of this.groups) this.settle(g);
  }
  level(g) {
    if (g.rail !== undefined) return g.rail;
    let best = g.held ? 2 : 0, level = 0;
    for (const [who, pin] of g.ends) {
      const b = this.boards[who], gpio = b.mcu.gpio[pin];
      let s = gpio.value;
      if (who === 'board' && this.sck.has(pin) && gpio.functionSelect === 1) s = this.sck.get(pin) ? HIGH : LOW;
      const strength = s === LOW || s === HIGH ? (who === 'board' ? 4 : 3) : s === UP || s === DOWN ? 1 : 0;
      if (strength > best) {
        best = strength;
        level = s === HIGH || s === UP ? 1 : 0;
      } else if (strength === best && strength === 1 && s === UP) level = 1; // two pulls: no harness asks for this
    }
    return level;
  }
  settle(g) {
    const v = !!this.level(g);
    for (const [who, pin] of g.ends) {
      const gpio = this.boards[who].mcu.gpio[pin];
      if (gpio.rawInputValue !== v) {
        gpio.setInputValue(v);
        this.onLevel(who, pin, v);
      }
    }
  }
  moved(who, pin) {
    const g = this.at[who].get(pin);
    if (g) this.settle(g);
    return g;
  }
}
