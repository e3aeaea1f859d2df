"""A step of the build: a wheel, and an editable installation, bring the languages compiled, which are found faster so."""

from __future__ import annotations

import runpy
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CompileLanguages(BuildHookInterface[Any]):
    """Writes a compiled file beside each translator's file."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        catalogue = Path(self.root, "coatrules", "catalogue")
        compiled = runpy.run_path(str(catalogue / "compiling.py"))["compiled"]
        for file in (catalogue / "languages").glob("*.po"):
            file.with_suffix(".mo").write_bytes(compiled(file.read_bytes(), file.stem))
