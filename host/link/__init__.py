"""The laptop's end of the wire: the frame of a line (frames), the port (ports) and who asks over it (client)."""

from host.errors import HostError


class LinkError(HostError):
    """No use of the link: one line, what is wrong and what to do."""


class PortError(LinkError):
    """No usable port: wrong, busy, none or several."""


class LinkLost(LinkError):
    """The port was there and has gone, or nobody answers any more; it may come back."""


class OtherProgram(LinkError):
    """A board answers, and its program is older or newer than this laptop's."""
