"""Compile the text extractors while a wheel is made, on machines that can.

Reading text is many small steps over words, which the same sources take about 1.4 times as fast
when mypyc has turned them into C. Plain Python stays the source and what runs wherever there is no
C compiler, no header of Python's or no mypyc: a wheel is made all the same, with one line that says
why. Left out on purpose: an editable installation, where a changed source would go unseen behind
its compiled twin, and any machine that sets FRAME_TRIAGE_PLAIN.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

PACKAGE = "extractors"
LONGEST = 900  # seconds; it takes about 70 on one core
# -O1: as fast to run as -O3 here, and made in a minute instead of ten; no debugging symbols
SCRIPT = """
import sys
from mypyc.build import mypycify
from setuptools import setup
options = ["--ignore-missing-imports", "--follow-imports=silent", *sys.argv[1:]]
made = mypycify(options, opt_level="1", debug_level="0", group_name="frame_triage")
setup(name="compiled", packages=[], ext_modules=made, script_args=["-q", "build_ext", "-i"])
"""


class CompileHook(BuildHookInterface[Any]):
    """Adds the compiled twins of the modules to the wheel; without a compiler, nothing."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile into a folder of its own and name its files to the wheel."""
        if version == "editable":
            return
        self._scratch = Path(tempfile.mkdtemp())
        lacking = what_is_lacking() or self._compile()
        if lacking:
            self.app.display_warning(f"the text extractors stay plain Python: {lacking}")
            return
        made = [*self._scratch.glob("*.so"), *self._scratch.glob(f"{PACKAGE}/*.so")]
        made += [*self._scratch.glob("*.pyd"), *self._scratch.glob(f"{PACKAGE}/*.pyd")]
        build_data["force_include"].update(
            {str(file): file.relative_to(self._scratch).as_posix() for file in made}
        )
        build_data["pure_python"] = False
        build_data["infer_tag"] = True

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """Remove the folder."""
        if version != "editable":
            shutil.rmtree(self._scratch)

    def _compile(self) -> str:
        """Compile; give the last line of what went wrong, or nothing."""
        plain = {f"{name}.py" for name in self.config["plain"]}
        sources = sorted((Path(self.root) / PACKAGE).glob("*.py"))
        shutil.copytree(Path(self.root) / PACKAGE, self._scratch / PACKAGE)
        files = [f"{PACKAGE}/{file.name}" for file in sources if file.name not in plain]
        command = [sys.executable, "-c", SCRIPT, *files]
        # to look for what to warn of would take the compiler twice as long as compiling
        quiet = {"CFLAGS": f"{os.environ.get('CFLAGS', '')} -w"} if os.name == "posix" else {}
        try:
            done = subprocess.run(
                command,
                cwd=self._scratch,
                env={**os.environ, **quiet},
                capture_output=True,
                text=True,
                timeout=LONGEST,
            )
        except subprocess.TimeoutExpired:
            return f"compiling took longer than {LONGEST} seconds"
        said = (done.stderr or done.stdout).strip().splitlines()
        return (said or ["mypyc stopped"])[-1] if done.returncode else ""


def what_is_lacking() -> str:
    """Say what this machine lacks for compiling; nothing if all is there."""
    if os.environ.get("FRAME_TRIAGE_PLAIN"):
        return "FRAME_TRIAGE_PLAIN is set"
    if sys.implementation.name != "cpython":
        return f"mypyc does not compile for {sys.implementation.name}"
    compiler = (os.environ.get("CC") or sysconfig.get_config_var("CC") or "cc").split()[0]
    if os.name == "posix" and not shutil.which(compiler):
        return f"no C compiler ({compiler})"
    if not (Path(sysconfig.get_path("include")) / "Python.h").exists():
        return "no header of Python (Python.h)"
    return ""
