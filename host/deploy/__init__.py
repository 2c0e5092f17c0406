"""Loading a board: what goes onto it (plan), how to talk to it (line), the way in (entry), the load itself (load) and
what is demanded of it afterwards (check)."""


class DeployError(Exception):
    """The answer is no: one line that says why and what to do."""


class PortError(DeployError):
    """No usable port: wrong, busy, none or several."""


class LinkLost(DeployError):
    """The board went away in the middle."""
