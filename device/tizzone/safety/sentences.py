"""What each condition says to people: a plain sentence for the panel, and what to do next; rows as in limits.py.

Nothing of this is needed to judge: it is loaded when somebody asks (told.py) and let go again. It is one string, since
the board looks up each string of a file that it loads among all names it knows: for a hundred that took 16 ms.
"""

_TEXT = (
    "Nothing is wrong.|\n"
    "Dome above the high limit.|Let it cool. Look for a stuck relay or a moved probe.\n"
    "Stone above its limit.|Let it cool. Lower the setpoint or the deck's share.\n"
    "Dome probe is open.|Check the probe's screws and cable for a break.\n"
    "Dome probe touches ground.|Use an insulated junction; look for damaged sleeving.\n"
    "Dome probe touches the supply.|Unplug the mains, then look for damaged probe wiring.\n"
    "The probe amplifier does not answer.|Check its supply, clock, data and select wires.\n"
    "Dome reading is not plausible.|Look for a loose screw or relay noise on the probe cable.\n"
    "No new dome reading.|Check the probe amplifier and its wires.\n"
    "Dome reading has frozen.|Power the box off and on; change the amplifier if it comes back.\n"
    "Stone probe has failed.|Check the stone probe, or take it out of the pin map.\n"
    "Dome reads far below the stone.|The dome probe may have slipped out: push it fully in.\n"
    "The box is too hot.|Move the box away from the oven; free its vents.\n"
    "The control loop came late.|If it comes back, load the board again.\n"
    "The two clocks disagree.|Change the board: its timing cannot be relied on.\n"
    "The watchdog reset the board.|Fetch the event log; load the board again.\n"
    "The program stopped on a fault.|Fetch the event log; load the board again.\n"
    "Power was lost during the evening.|The fan cools the oven. Start again only when you choose to.\n"
    "The stored settings are damaged.|Defaults are in force: check every setting, then save them.\n"
    "A limit in memory has changed.|Power off and on; change the board if it comes back.\n"
    "The self-test failed.|Read the event log: it names the part. Check its wiring.\n"
    "The dead-man cut in, or has stopped.|The loop or the timer had stopped. Load the board again.\n"
    "A heat pin does not follow.|Unplug the mains. Look for a short at the relay's input.\n"
    "Current flowed in the start test.|Unplug. Contactor or relay welded: an electrician replaces it.\n"
    "Current with the relay off.|Unplug the mains. Relay welded: an electrician replaces it.\n"
    "No current with the relay on.|Check fuse, element, relay and current sensor.\n"
    "A relay conducts half waves.|Unplug the mains. Relay damaged: an electrician replaces it.\n"
    "PULL THE PLUG: contactor welded.|Pull the plug now. An electrician replaces the contactor.\n"
    "The contactor does not close.|Check coil, ENABLE, limiter and selector wiring.\n"
    "PULL THE PLUG: still heating.|Pull the plug now. Relay and contactor failed: electrician.\n"
    "Full output but no rise.|Is the probe inside? Is the element whole? Is the mains on?\n"
    "Reading falls while heating.|The thermocouple is reversed: swap its two wires.\n"
    "Reading fell and stays low.|The dome probe may have fallen out: look before heating.\n"
    "Dome far above the setpoint.|Look for a stuck relay.\n"
    "Dome rises without output.|Look for a stuck relay.\n"
    "The independent limiter is open.|Find out why, then reset the limiter by hand.\n"
    "The cooling fan does not turn.|Check the fan and its contact before any heat.\n"
    "The trip memory was damaged.|Taken as tripped: check the oven, then acknowledge.\n"
    "ENABLE is open.|Close ENABLE, then resume.\n"
    "The oven's own thermostat is selected.|Turn the selector through OFF to OURS, then resume.\n"
    "Nobody confirmed presence.|Stay with a hot oven. Start again when you are there.\n"
    "The evening reached its longest time.|Start again if you are still baking.\n"
    "Preheat is much slower than learned.|An element may be open: check both glow.\n"
    "Confirm that you are there.|Press the knob or send 'present'.\n"
    "The box gets warm.|Give the box more air.\n"
    "The door is open: heat is off.|Shut the door; heat goes on by itself.\n"
    "Setpoint held down by commissioning.|Do the next witness step before more heat.\n"
    "The reading swings with the relays.|The probe sits too near an element: move it.\n"
    "Locked out after repeated trips.|Find the cause. Unlock when the oven is cold.\n"
    "The contactor chatters.|Unplug the mains. Coil circuit loose or weak: electrician.\n"
    "More output than this oven needs.|Dome probe slipped out, door ajar or an element gone: look.\n"
)


def row(number):
    """(sentence, what to do) of one condition; the text is never taken apart as a whole, for that takes room."""
    begin = 0
    for _ in range(number):
        begin = _TEXT.index("\n", begin) + 1
    middle = _TEXT.index("|", begin)
    return _TEXT[begin:middle], _TEXT[middle + 1 : _TEXT.index("\n", middle)]


def rows():
    """Every row, for the laptop."""
    return [row(number) for number in range(_TEXT.count("\n"))]
