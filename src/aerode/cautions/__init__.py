"""What can hurt someone, before the act: one engine for mixes, rooms, presses, cells and the people.

`engine.assess(situation)` gives the cautions, `engine.caution_sheet` the page with what was
acknowledged, `reading.require_acknowledged` refuses to go on while a STOP waits.
"""
