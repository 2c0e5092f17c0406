"""The errors of the laptop's side. Each carries one line for a person: what is wrong and what to do about it.

HostError
    InputError      a value or a file that cannot be used (also a ValueError): PinMapError, PlanError, CalibrationError,
                    FaultError, SettingsFileError
    LinkError       no use of the link: host.link
        PortError   no usable port: wrong, busy, none or several
        LinkLost    the port has gone, or nobody answers any more; it may come back
    the rooms' own  DeployError, RecordingError, RecordError, AnswerError, Failed (a step), NotWritten, RuntimeMissing,
                    Unreached (a phase of the drill)
"""


class HostError(Exception):
    """One line that says what is wrong and what to do."""


class InputError(HostError, ValueError):
    """A value or a file that cannot be used."""
