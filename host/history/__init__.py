"""What many evenings of one oven say together: is an element, a gasket, a relay or a probe on its way out?

folders.py     reads every run folder below a folder, skips what is foreign or damaged, with a word
apart.py       which evenings belong together: real evenings of one board, rehearsals of one oven
evening.py     one evening -> its figures: preheat, climb, holding output, cooling, stone against dome
directions.py  by how much each figure moves when something fails (measured on simulated ovens)
shift.py       first evenings against last evenings, robust, with what the mains may do
findings.py    names what fits, with evidence, confidence and what to check
wear.py        relay and contactor counts and what is left
records.py     calibration records over months
page.py, plot.py, calibration_plot.py, text.py   what a person reads
"""
