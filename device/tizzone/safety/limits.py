"""Every number and every condition of the supervisor, each with its unit and where it comes from.

Temperatures are milli-degrees Celsius (`_MC`) or kelvin differences in the same unit (`_MK`), times milliseconds, all
below 2^30 so that a 32-bit board never has to allocate a long integer. "House" below means our own choice; "simulated":
a figure of simulated domestic ovens of 2.4-3.5 kW, which the choice rests on. Nothing was checked against a real oven.
"""

from micropython import const

# --- Loop -----------------------------------------------------------------------------------------
PERIOD_MS = const(250)  # one tick; house
LATE_MS = const(500)  # a tick longer than two periods is an overrun; house
OWN_WRITE_MS = const(3_000)  # longest stall that our own flash write excuses, with everything off; house
DEADMAN_MS = const(125)  # own tick of the dead-man timer (house) ...
DEADMAN_SILENT = const(2)  # drives without a tick of that timer (two come to one) after which it has stopped; house
DEADMAN_MISSES = const(4)  # ... of which so many without a drive() cut the heat: 375..500 ms, within two periods; house

# --- High limit (the hard over-temperature cutoff) ---------------------------------------------------
HIGH_LIMIT_MAX_MC = const(550_000)  # compiled ceiling of any high limit; house
HIGH_LIMIT_MIN_MC = const(30_000)  # so that the cutoff test can lower it below the present reading; house
SETPOINT_MARGIN_MK = const(20_000)  # the highest setpoint is limit - 20 K; house
RELEASE_MARGIN_MK = const(40_000)  # the trip stands at release + 40 K, at most at the limit; house
STONE_MARGIN_MK = const(40_000)  # the stone may rest 10-34 K above the dome (simulated); house
RELEASES_C = (60, 120, 260, 480)  # setpoints that commissioning earns, in order; house
RELEASE_UNGUARDED_C = const(120)  # highest without an independent limiter that was seen to open the contactor; house
SETPOINT_MIN_MC = const(30_000)  # house

# --- Readings ------------------------------------------------------------------------------------
READING_MIN_MC = const(-15_000)  # a hall kitchen is not colder; a reversed couple in a hot oven reads so; house
BAD_TRIP_MS = const(750)  # three readings at 250 ms; house
UNSTEADY_MS = const(3_000)  # unusable readings, each tick weighed (house) ...
UNSTEADY_WEIGHT = const(4)  # ... so much against a good one: three in a row at 250 ms, or half of them for 2 s; house
STALE_OK_MS = const(250)  # a slow amplifier answers every second tick; house
STALE_MS = const(750)  # house
FROZEN_MS = const(90_000)  # the raw code of a live chip changes within seconds; house
BOX_WARN_MC = const(60_000)  # house
BOX_TRIP_MC = const(70_000)  # below the +85 °C of most boards and chips; house
BOX_MIN_MC = const(-20_000)  # house

# --- Rules about the oven (what a healthy oven cannot do) ----------------------------------------------
FULL_PM = const(950)  # output that counts as full, per mille; house
COLD_MC = const(200_000)  # 'no rise' means nothing above this; house: chosen on simulated ovens
NO_RISE_MS = const(180_000)  # python -m tests.bench.margins; house
NO_RISE_MK = const(6_500)  # simulated: healthy 12.2 K; outside, a shorted lead 5, the probe 0 (tests.bench.margins)
NO_RISE_DROP_MK = const(5_000)  # a fall within the window (a door) starts the window anew; house
REVERSED_START_MC = const(60_000)  # house
REVERSED_MK = const(3_000)  # simulated: healthy 0.8 K, a reversed 4.5 mm sheath 4.1 K in 120 s (tests.bench.margins)
REVERSED_ROSE_MK = const(5_000)  # a couple whose reading was once so far above its first is not reversed; house
FELL_MK = const(100_000)  # house
FELL_MS = const(130_000)  # simulated: a 4.5 mm sheath, many doors, no contact: 115 s (tests.bench.margins)
FELL_REST_MS = const(60_000)  # after so long without output (house) ...
FELL_WAKE_MS = const(60_000)  # ... cold elements and a delay of 40 s: a healthy reading goes on falling; house
FELL_PROGRESS_MK = const(4_000)  # a healthy closed oven at full output 100 K low rises this much in seconds; house
OVER_MK = const(15_000)  # simulated: healthy 12.0 K (drill --clean 500); two welded relays later than at 11 K, but seen
OVER_FROM_MC = const(400_000)  # below a setpoint of this the margin grows by (house) ...
OVER_SHARE = const(10)  # ... a tenth of the difference: a plant with 40 s of delay overshot 260 °C by 15.3 K; house
OVER_LOW_MK = const(38_000)  # but stays under the 40 K of RELEASE_MARGIN_MK; house
OVER_MS = const(1_000)  # house
UNDRIVEN_MS = const(75_000)  # no output: simulated, a healthy 4.5 mm sheath rose by 1.5 K from 51 s on (clean 204) ...
UNDRIVEN_SOON_MC = const(300_000)  # soon from here on (house); below it ...
UNDRIVEN_COLD_MS = const(240_000)  # ... simulated: 1.8 K in 30 s after 210 s behind 4.5 mm (tests.bench.margins)
UNDRIVEN_FROM_MC = const(50_000)  # below it a hand, a bath or an amplifier's noise rises as fast; house
UNDRIVEN_SPAN_MS = const(30_000)  # ... and the reading still rises over this span (house) ...
UNDRIVEN_RISE_MK = const(1_000)  # ... by this much, above its recent peak (house) ...
UNDRIVEN_CALM_MS = const(90_000)  # ... near which it was for so long: after a door it comes back by itself; house
ESCALATE_MS = const(90_000)  # cut off this long and still rising: relay and contactor have both failed; house
AFTER_SESSION_MS = const(1_800_000)  # after this the oven may be in other hands; house
PEAK_FORGET_MS = const(18_000_000)  # time constant of the slowly forgotten peak: 5 h, slower than a cooling oven; house
PEAK_FLOOR_MC = const(40_000)  # house
DISAGREE_MK = const(50_000)  # stone above dome in calm; simulated: at most 34 K at rest, 23 K on arrival; house
DISAGREE_FROM_MC = const(200_000)  # house
CALM_MK = const(8_000)  # calm: the dome within this of its recent peak (house) ...
CALM_MS = const(60_000)  # ... for this long; house
SLIP_FROM_MC = const(150_000)  # setpoints below this are not judged; house
SLIP_ROOM_MC = const(20_000)  # house
SLIP_SPAN_K = const(430)  # from there to 450 degrees; house
SLIP_SAME_MK = const(15_000)  # a setpoint within this of the one judged is the same; house
SLIP_SMOOTH_MS = const(180_000)  # time constant of the smoothed output; house
SLIP_SETTLE_MS = const(420_000)  # near one setpoint for so long: settled; house
SLIP_LEAST_PCT = const(60)  # of the expected output: what the oven needs is taken for no less; house
SLIP_RATIO_PCT = const(135)  # so much of what this oven has needed; simulated: see tests.bench.margins ...
SLIP_MORE_PM = const(50)  # ... and so much more; the same, house ...
SLIP_FULL_PM = const(920)  # ... or nearly all there is, of an oven that has held with (house) ...
SLIP_SPARE_PM = const(720)  # ... less than this (house) ...
SLIP_MS = const(180_000)  # ... for so long is too much; house
SAG_MK = const(12_000)  # below a setpoint that was held with output to spare (house) ...
SAG_FAR_MK = const(60_000)  # ... or with hardly any: a mains that sags takes 40 K (house) ...
SAG_MS = const(300_000)  # ... at full output without a rise; simulated: healthy 60 s (tests.bench.margins)
AWAY_MS = const(1_200_000)  # ... or not back in so long (drill --clean), where there was output to spare; house ...
AWAY_FALL_MK = const(8_000)  # ... counted from the newest fall of so much: a door, a bread; house
WEAK_FROM_MC = const(100_000)  # element check: time from 100 to 200 °C against the learned one; house
WEAK_TO_MC = const(200_000)  # house
WEAK_RATIO_PCT = const(160)  # house
RIPPLE_MK = const(4_000)  # for bare tips; behind a sheath at 1.5 K healthy 12 turns, faulty 1-12 (simulated); house
RIPPLE_SPAN_MS = const(120_000)  # house
RIPPLE_TURNS = const(9)  # a period of 26 s at most: faster than any control loop of an oven swings; house

# --- Wiring -----------------------------------------------------------------------------------------
SENSE_ON_MS = const(500)  # current while commanded off, per zone: two ticks, so within 1 s of the first off; house
SENSE_OFF_MS = const(1_000)  # no current while commanded on, per zone; house
HALF_WAVE_MS = const(500)  # house
LEAK_WEIGHT = const(4)  # a bad tick counts so much against a good one: one in five is borne, more add up; house
CHATTER_MS = const(8_000)  # a contactor that disagrees for 2 s in all, or half of the time for 5 s; house
MIRROR_MS = const(1_000)  # above the 600 ms that a monostable may hold the coil; house
FAN_MS = const(5_000)  # house
CONTACTOR_SETTLE_MS = const(250)  # the contactor moves only while the relays are off; house
COOLED_MS = const(36_000_000)  # no heat for so long, no probe believed: cool; simulated: 500 to 60 °C in 6.6 h
STONE_LAG_MK = const(150_000)  # simulated: a stone that is heated reads up to 143 K below the dome (house) ...
STONE_ALONE_MS = const(1_200_000)  # ... and after so long without heat 20 K at most; house
ATTEST_MS = const(3_600_000)  # no heat for so long before a person's thermometer may say cold; house
FAN_RUN_ON_MC = const(150_000)  # the fan runs down to this; house

# --- People -----------------------------------------------------------------------------------------
ATTEND_MC = const(120_000)  # from this on a person confirms presence; settable downwards; house
ATTEND_MAX_MC = const(120_000)  # house
ATTEND_MIN = const(15)  # minutes between confirmations; house
ATTEND_MAX_MIN = const(30)  # house
ATTEND_WARN_MS = const(120_000)  # house
SESSION_MAX_MIN = const(300)  # house
SESSION_CEILING_MIN = const(480)  # house
RESTART_MC = const(250_000)  # acknowledge is accepted below this; house
RESTART_MAX_MC = const(300_000)  # house
LOCKOUT_TRIPS = const(3)  # trips without a finished evening between them; house
UNLOCK_MC = const(60_000)  # a lockout is lifted only on a cold oven; house
CLOCK_WINDOW_MS = const(60_000)  # house
CLOCK_ERROR_MS = const(3_000)  # house

# --- What a condition does ----------------------------------------------------------------------------
WARN = const(0)  # told, nothing else; house
STOP = const(1)  # heat off, the evening ends; a person may start again; house
HOLD = const(2)  # heat off, the evening is held; a person resumes it when the cause is gone; house
TRIP = const(3)  # heat off, contactor open, latched; a person acknowledges; heat never comes back by itself; house

# Numbers of the conditions (rows of conditions.py). 0 means none.
NONE = const(0)
HIGH_LIMIT = const(1)
STONE_LIMIT = const(2)
PROBE_OPEN = const(3)
PROBE_SHORT_GROUND = const(4)
PROBE_SHORT_SUPPLY = const(5)
PROBE_SILENT = const(6)
READING_WRONG = const(7)
READING_STALE = const(8)
READING_FROZEN = const(9)
STONE_PROBE = const(10)
PROBES_DISAGREE = const(11)
BOX_HOT = const(12)
TICK_LATE = const(13)
CLOCK_WRONG = const(14)
WATCHDOG_RESET = const(15)
PROGRAM_FAULT = const(16)
POWER_CUT = const(17)
SETTINGS_DAMAGED = const(18)
MEMORY_FAULT = const(19)
SELF_TEST = const(20)
DEADMAN = const(21)
PIN_READBACK = const(22)
START_TEST = const(23)
RELAY_WELDED = const(24)
NO_CURRENT = const(25)
HALF_WAVE = const(26)
CONTACTOR_WELDED = const(27)
CONTACTOR_OPEN = const(28)
HEAT_UNCONTROLLED = const(29)
NO_RISE = const(30)
PROBE_REVERSED = const(31)
PROBE_FELL = const(32)
OVER_SETPOINT = const(33)
UNDRIVEN_RISE = const(34)
LIMITER_OPEN = const(35)
FAN_STOPPED = const(36)
LATCH_DOUBT = const(37)
ENABLE_OPEN = const(38)
SELECTOR_ORIGINAL = const(39)
ATTENDANCE = const(40)
SESSION_LONG = const(41)
ELEMENT_WEAK = const(42)
ATTEND_SOON = const(43)
BOX_WARM = const(44)
DOOR_OPEN = const(45)  # before the next: what is new and passes is told first
NOT_COMMISSIONED = const(46)
PROBE_NEAR_ELEMENT = const(47)
REPEATED_TRIPS = const(48)
CONTACTOR_CHATTER = const(49)
PROBE_SLIPPED = const(50)
COUNT = const(51)

# What each does, and how long it must last: conditions.py. What each says to people: sentences.py.
CONDITION_NAMES = (
    "none", "high-limit", "stone-limit", "probe-open", "probe-short-ground", "probe-short-supply",
    "probe-silent", "reading-wrong", "reading-stale", "reading-frozen", "stone-probe", "probes-disagree",
    "box-hot", "tick-late", "clock-wrong", "watchdog-reset", "program-fault", "power-cut", "settings-damaged",
    "memory-fault", "self-test", "deadman", "pin-readback", "start-test", "relay-welded", "no-current",
    "half-wave", "contactor-welded", "contactor-open", "heat-uncontrolled", "no-rise", "probe-reversed",
    "probe-fell", "over-setpoint", "undriven-rise", "limiter-open", "fan-stopped", "latch-doubt", "enable-open",
    "selector-original", "attendance", "session-long", "element-weak", "attend-soon", "box-warm", "door-open",
    "not-commissioned", "probe-near-element", "repeated-trips", "contactor-chatter", "probe-slipped",
)  # fmt: skip
# Conditions after which a probe is no longer believed until they are acknowledged.
DOME_DOUBTS = (PROBE_OPEN, PROBE_SHORT_GROUND, PROBE_SHORT_SUPPLY, PROBE_SILENT, READING_WRONG, READING_STALE,
               READING_FROZEN, PROBES_DISAGREE, PROBE_REVERSED, PROBE_FELL, PROBE_SLIPPED)  # fmt: skip
STONE_DOUBTS = (STONE_PROBE,)
# Conditions that mean: neither relay nor contactor can be relied on, take the energy away by hand.
PULL_THE_PLUG = (CONTACTOR_WELDED, HEAT_UNCONTROLLED)
