"""The rehearsal under the name by which it is known outside; it lives in host/simulator."""

from host.simulator.rehearsal import ROW, Rehearsal

__all__ = ["ROW", "Rehearsal"]
