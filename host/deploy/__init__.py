"""Loading a board: what goes onto it (plan), how to talk to it (line), the way in (entry), the load itself (load) and
what is demanded of it afterwards (check)."""

from host.errors import HostError


class DeployError(HostError):
    """The answer is no: one line that says why and what to do."""
