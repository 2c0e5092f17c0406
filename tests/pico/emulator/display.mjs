// An I2C display as the bus sees it: it acknowledges, and each byte takes nine bit times.
export function attachDisplay(run, mcu, { unit = 0, addr = 0x3c }) {
  const bus = mcu.i2c[unit];
  run.i2cBytes ??= 0;
  let selected = false;
  const byteNs = () => 9e9 / (run.i2cHz ?? 400000);
  const later = (ns, f) => mcu.clock.createAlarm(f).schedule(ns);
  bus.onStart = () => later(2500, () => bus.completeStart());
  bus.onConnect = (a) => {
    selected = a === addr;
    later(byteNs(), () => bus.completeConnect(selected));
  };
  bus.onWriteByte = () => {
    run.i2cBytes++;
    later(byteNs(), () => bus.completeWrite(true));
  };
  bus.onReadByte = () => later(byteNs(), () => bus.completeRead(0));
  bus.onStop = () => later(2500, () => bus.completeStop());
}
