// What a test may do to the board and the oven: one word and its values, all strings.
export function acts(run, oven, w) {
  const probe =
    (mode) =>
    (chip = 'dome') =>
      (w[chip].mode = mode);
  return {
    // probe chips
    open: probe({ oc: 1 }),
    short_ground: probe({ scg: 1 }),
    short_supply: probe({ scv: 1 }),
    zeros: probe({ dead0: 1 }),
    ones: probe({ deadF: 1 }),
    stuck: probe({ stuck: 1 }),
    good: probe({}),
    // oven
    offset: (k) => (oven.offset = +k),
    noise: (k) => (oven.noise = +k),
    lid: (times) => (oven.lid = +times), // losses: an open door
    fell_out: (v) => (oven.out = +v), // the probe lies in the room
    reversed: (v) => (oven.rev = +v),
    dead_top: (v) => (oven.deadT = !!+v),
    dead_deck: (v) => (oven.deadD = !!+v),
    box: (c) => (oven.cj = +c),
    temperature: (c) => oven.settleAt(+c),
    // wiring
    weld_top: (v) => (w.weldTop = !!+v),
    weld_deck: (v) => (w.weldDeck = !!+v),
    weld_contactor: (v) => w.weldContactor(!!+v),
    half_wave: (v) => (w.halfWave = !!+v),
    fan_dead: (v) => (w.fanDead = !!+v),
    contact: (name, v) => w.contact(name, +v),
    force: (pin, v) => w.forcePin(+pin, v === 'free' ? undefined : +v),
    short: (pin, v) => {
      run.shorts[+pin] = +v; // an output held from outside, stronger than its driver
      run.net(+pin);
      w.outputs();
    },
    // board
    host_reads: (v) => run.setHostStalled(v === '0'),
    power_cycle: () => (run.pendingReset = { reason: 0, scratch: null }),
    watchdog: () => (run.pendingReset = { reason: 1, scratch: run.watchdog.scratchData.slice() }),
    flash_ms: (erase, page) => run.setFlashTimes(+erase, +page),
    i2c_hz: (hz) => (run.i2cHz = +hz),
  };
}
