"""Programs of the programmable I/O: a probe chip's answer, the count of its clocks, the pulses of a current sensor.

Nothing here waits for a line that may never move: select and clock are both looked at in turn, so that a clock that
stops in mid-frame, or a select that is held, never leaves the data line driven after the select has gone.
"""

import rp2

LET_GO = 0xE080  # the instruction `set pindirs, 0`, as StateMachine.exec() takes it


@rp2.asm_pio(out_init=rp2.PIO.IN_LOW, set_init=rp2.PIO.IN_LOW, out_shiftdir=rp2.PIO.SHIFT_LEFT,
             in_shiftdir=rp2.PIO.SHIFT_LEFT)  # fmt: skip
def answer():
    """SPI mode 0, 32 bits, D31 first. in_base = select, jmp_pin = clock, out_base = set_base = data.

    While not selected the newest word is taken over every few cycles (or the last one kept, in X): the pull that the
    select ends is one instruction, so a frame is one word whole. After bit 0 comes 0, as long as it is clocked."""
    label("idle")
    pull(noblock)
    mov(x, osr)
    mov(isr, null)
    in_(pins, 1)
    mov(y, isr)
    jmp(y_dec, "idle")  # select is high
    out(pins, 1)
    set(pindirs, 1)
    jmp("low")
    label("high")  # until the clock falls: two cycles from there to the next bit
    jmp(pin, "still")
    out(pins, 1)
    label("low")  # until the clock rises
    jmp(pin, "high")
    mov(isr, null)
    in_(pins, 1)
    mov(y, isr)
    jmp(not_y, "low")
    jmp("done")
    label("still")
    mov(isr, null)
    in_(pins, 1)
    mov(y, isr)
    jmp(not_y, "high")
    label("done")
    set(pindirs, 0)


@rp2.asm_pio(in_shiftdir=rp2.PIO.SHIFT_LEFT)
def count():
    """Rising clocks of each selection, pushed at its end. in_base = select, jmp_pin = clock."""
    wait(0, pin, 0)
    mov(x, invert(null))  # counted downwards, turned round at the end
    label("low")
    jmp(pin, "rose")
    mov(isr, null)
    in_(pins, 1)
    mov(y, isr)
    jmp(not_y, "low")
    jmp("done")
    label("rose")
    jmp(x_dec, "high")
    label("high")
    jmp(pin, "still")
    jmp("low")
    label("still")
    mov(isr, null)
    in_(pins, 1)
    mov(y, isr)
    jmp(not_y, "high")
    label("done")
    mov(isr, invert(x))
    push(noblock)


@rp2.asm_pio(set_init=rp2.PIO.IN_LOW)
def whole_waves():
    """Low in every half wave: 16 of 20 cycles, at 40 cycles a mains period."""
    set(pindirs, 1)[15]
    set(pindirs, 0)[3]


@rp2.asm_pio(set_init=rp2.PIO.IN_LOW)
def half_waves():
    """Low in every second half wave: 16 of 40 cycles."""
    set(pindirs, 1)[15]
    set(pindirs, 0)[15]
    nop()[7]
