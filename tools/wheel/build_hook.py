"""What pyproject.toml cannot say: tizzone_kit lies below tools/, yet stands at the top of the wheel, around tools/.

Hatchling maps a file by the first of its sources in alphabetical order, which would always be "tools". An editable
install needs none of this: there the folder of this file is on the path (`dev-mode-dirs`).
"""

from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class PackageAtTheTop(BuildHookInterface):
    """Adds tizzone_kit to a wheel."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Called by hatchling before it builds; `version` is "standard" for a wheel, "editable" for a checkout."""
        if version == "standard":
            build_data["force_include"][str(Path(__file__).parent / "tizzone_kit")] = "tizzone_kit"
