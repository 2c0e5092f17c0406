"""The commented example build sheet: the oven of a village hall kitchen."""

EXAMPLE = """\
# Build sheet: what this oven is, what feeds it and what is to be added.
# Every figure is yours to change; what is not known is to be measured, not guessed.
name = "Village hall kitchen, flatbreads on club nights"
date = "2026-11-01"

[premises]
kind = "public"             # home, public or rented
owner_consents = true       # in writing
insurer_consents = true     # in writing
extinguisher = true         # for electrical fires, within reach
attended = true             # a named person stays until the oven is below 150 degC

[supply]
rules = "iec"               # iec (IEC 60364) or nec (NEC)
voltage_v = 230             # 120, 208, 230 or 240, single phase
phases = 1                  # nothing else is supported
supplies = 1                # circuits that feed the oven: one
system = "tn"               # earthing: tn, tt (own earth rod) or it; conductors = "line_line" where both are live
network = "public"          # public, or private (own transformer)
breaker_a = 16
breaker_poles = 2           # conductors that it opens at once
curve = "B"                 # B, C, D; "nec" under NEC
# breaker_i2t_a2s = 15000     # its let-through from the maker, where the plan asks
residual_ma = 30            # RCD or GFCI trip current, mA; 0 = none
connection = "iec60309_16"  # schuko, cee7_5, bs1363, as3112, iec60309_16, nema6_20, fixed ...
earth = "tested"            # none, present, tested
earth_ohm = 0.06            # plug to oven, box and heatsink, measured
loop_ohm = 0.9              # earth-fault loop at the socket, measured cold
insulation_mohm = 12.5      # elements to earth at 500 V; this and the next three are for commissioning alone
rcd_ma = 22                 # at which the RCD tripped ...
rcd_ms = 28                 # ... and how long it took at its rated current
instrument = "installation tester, calibrated 2026-01"
measured_on = "2026-10-28"
measured_by = "hall's electrician, licence 4711"
other_load_a = 0.0          # anything else on this circuit
price_per_kwh = 0.32
currency = "EUR"

[cable]                     # the fixed run from the board to the socket, one way
length_m = 18.0
section_mm2 = 2.5           # under NEC: awg = 12
method = "B2"               # A1, A2, B1, B2, C (IEC 60364-5-52), cord; NEC: raceway60, raceway75
layout = "radial"           # radial, or ring (UK ring final circuit)
insulation_c = 70
ambient_c = 30              # hottest air along the run
bunched_circuits = 1        # loaded circuits laid together, this one included

[cord]                      # from the socket to the oven
length_m = 2.0
section_mm2 = 1.5           # under NEC: awg = 12
ambient_c = 30              # hottest air along it; not over or behind the oven

[oven]
appliance = "electric"      # electric; gas, dual_fuel, microwave and steam are refused
mounting = "freestanding"   # freestanding, built_in, table_top
pyrolytic = false           # cleans itself by heat
made_year = 2012
insulation = "mineral_wool" # mineral_wool, ceramic_fibre, asbestos_free_tested, asbestos
volume_l = 60               # of the cavity
held_at_c = 200             # what an energy meter told after an hour at this temperature ...
held_w = 430                # ... watts held there (lamp and fans taken off); or minutes_on_per_hour = 9 (both on)
wanted_c = 450
hours = 4.0                 # an evening, from cold
evenings_per_year = 40
clearance_mm = 200          # to anything that burns
room_c = 22

[elements.top]              # the plate: power_w at voltage_v; or ohms, measured cold
power_w = 1500
voltage_v = 230

[elements.deck]
power_w = 1400
voltage_v = 230

[control]
window_s = 20               # time-proportioning window
staggered = true            # top from the window's start, deck up to its end

[relays]
paralleled = false          # any two contacts side by side on one element

[relays.top]
kind = "ssr"                # ssr, contactor or relay
rated_a = 25
rated_v = 480
zero_cross = true
drop_v = 1.4                # on-state drop, highest
junction_case_k_w = 0.8     # data sheet
case_sink_k_w = 0.2         # grease or pad
junction_max_c = 125
i2t_a2s = 312               # what the relay bears, data sheet
fuse_a = 16                 # fast fuse before it
fuse_i2t_a2s = 150          # total I2t of that fuse

[relays.deck]
kind = "ssr"
rated_a = 25
rated_v = 480
zero_cross = true
drop_v = 1.4
junction_case_k_w = 0.8
case_sink_k_w = 0.2
junction_max_c = 125
i2t_a2s = 312
fuse_a = 16
fuse_i2t_a2s = 150

[heatsink]                  # one for both relays, inside the box
fitted = true
k_w = 1.2

[contactor]                 # in series with the relays
fitted = true
rated_a = 25                # AC-1
poles = 2
mirror_contact = true

[chain]                     # what the contactor's coil runs through: fuse, high limit, ENABLE, SELECTOR, driver
kind = "selv_24dc"          # selv_24dc (recommended), selv_12dc, selv_24ac, mains
separated = true            # its supply has double insulation to mains
supply_w = 5                # heat of supplies and board
coil_w = 3.5                # the coil, holding
driver = "relay"            # interposing relay, transistor (d.c. only); board_pin is refused
driver_rated_v = 30
enable_sensed = "own_contact"    # own_contact: a second, separate contact to the board; separated_stage;
limit_sensed = "own_contact"     # same_contact is refused; not_sensed
selector_sensed = "own_contact"

[box]
width_mm = 400
height_mm = 400
depth_mm = 200
material = "steel"
ambient_c = 30              # air where it hangs, oven hot
oven_distance_mm = 600
electronics_max_c = 60

[thermocouple]
type = "K"
sheath_max_c = 1100
lead_max_c = 400
lead_place = "wall"         # hottest place of its lead: cavity, wall, terminal, cabinet, outside

[high_limit]                # not part of the controller
fitted = true
setting_c = 490
own_sensor = true
manual_reset = true
cuts = "contactor_coil"     # contactor_coil; elements (then contact_a, contact_poles); relay_signal is refused
own_contactor = false       # true: a second one of its own, in series; then contactor_a (AC-1), contactor_poles

[transfer]                  # ORIGINAL - OFF - OURS
fitted = true
rated_a = 25
poles = 2
break_before_make = true
off_position = true
auxiliary_contact = true

[cooling_fan]               # the oven's own, for its electronics and door
in_oven = true
motor = "ac"                # ac, dc, electronic
fed_by = "mains_contact"    # in OURS: mains_contact, own_supply, original_board
changed_over = true         # its live end goes through the transfer switch as well
runs_when_ours = true
proved = true

[hot_air_fan]               # the one in the cavity's rear wall
fitted = false

# Elements beyond top and deck, each: name, power_w, voltage_v, in_ours = "top", "deck" (heats with it) or "dead":
# [[extra_element]]

# Parts near the heat that stay or are added. seen_c: measured there with the cavity at seen_at_c.
[[part]]
name = "Element leads"
kind = "wire"               # wire, terminal, gasket, glass, sleeve, other
place = "terminal"
rated_c = 450

[[part]]
name = "Element tabs, nickel-plated"
kind = "terminal"
place = "terminal"
rated_c = 350
seen_c = 120
seen_at_c = 250

[[part]]
name = "Door gasket, woven glass"
kind = "gasket"
place = "wall"
rated_c = 550

[[part]]
name = "Inner door glass"
kind = "glass"
place = "cavity"
rated_c = 500

# The oven as found: sensor, cutout, lamp, glass, gasket, lock, electronics, fan, thermostat.
# decision: kept, moved, removed or absent; who did it, and why.
[[survey]]
part = "sensor"
name = "Original bulb thermostat's sensor"
place = "cavity"
rated_c = 320
decision = "moved"
by = "hall's electrician"
why = "filled bulb, not for 450 degC; back at reversal"

[[survey]]
part = "cutout"
name = "Cut-out on the rear wall"
place = "cabinet"
rated_c = 180
seen_c = 62                 # measured there ...
seen_at_c = 250             # ... with the cavity at this temperature
acts_in_ours = true         # it breaks the elements in OURS too; else job_done_by = "..."
acts_through = "elements"   # their common conductor; chain: refused unless the chain runs at mains
opens_c = 130
decision = "kept"

[[survey]]
part = "lamp"
name = "Cavity lamp, 300 degC"
place = "cavity"
rated_c = 300
decision = "removed"
by = "hall's electrician"
why = "glass and holder not for 450 degC; blanked with steel"

[[survey]]
part = "glass"
name = "Inner door glass"
place = "cavity"
rated_c = 500
decision = "kept"

[[survey]]
part = "gasket"
name = "Door gasket"
place = "wall"
rated_c = 550
decision = "kept"

[[survey]]
part = "lock"
name = "No door lock"
place = "outside"
decision = "absent"

[[survey]]
part = "electronics"
name = "Clock module"
place = "outside"
rated_c = 85
decision = "moved"
by = "hall's electrician"
why = "out of the casing: no fan after a power cut"

[[moved_wire]]
wire = "W1, top element, live"
from = "original selector switch 2"
to = "transfer switch common L1"
by = "hall's electrician"

[[moved_wire]]
wire = "W2, deck element, live"
from = "original selector switch 4"
to = "transfer switch common L2"
by = "hall's electrician"

[[moved_wire]]
wire = "W3, cooling fan, live"
from = "original control board, fan output"
to = "transfer switch, auxiliary fan contact"
by = "hall's electrician"
"""
