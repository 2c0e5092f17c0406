"""The mains side of the build: currents, cables, breakers, relays, heat, flicker, findings.

Pure functions with units in their names, tables whose entries carry where they were seen, and the
page that a licensed electrician is shown. Nothing here says that a build may be switched on.
"""
