"""The sentence of a condition, for whoever asks: the table is loaded for one answer and let go, since it is 4 kB that
no judgement needs. Takes some 10 ms; the newest answer is kept, so that a panel which shows a trip loads nothing.
"""

import sys

from tizzone.safety.limits import CONDITION_NAMES


class Told:
    """`of(number)`: (sentence, what to do) of a condition."""

    def __init__(self):
        self._number = -1
        self._row = ("", "")

    def of(self, number):
        """The row of one condition."""
        if number != self._number:
            try:
                from tizzone.safety import sentences
            except MemoryError:  # its name says the most of it; the next question tries again
                return CONDITION_NAMES[number], ""
            self._row = sentences.row(number)
            self._number = number
            del sys.modules["tizzone.safety.sentences"]
            del sys.modules["tizzone.safety"].sentences
        return self._row
