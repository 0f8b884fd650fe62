"""A copy of lib/ and include/ that a test may change, and the compiler that BUILD uses."""
import json
import pathlib
import shlex
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]


class ScratchTree:
    def __init__(self, build, folder):
        self.build, self.folder = pathlib.Path(build).resolve(), pathlib.Path(folder)
        for part in ("lib", "include"):
            shutil.copytree(ROOT / part, self.folder / part)

    def compile(self, source):
        """What the compiler complains of; nothing where it does not."""
        commands = json.loads((self.build / "compile_commands.json").read_text())
        found = next(entry for entry in commands if entry["file"] == str(ROOT / source))
        words = [word for word in shlex.split(found["command"]) if not word.endswith("ccache") and word != "-Werror"]
        for part in ("lib", "include"):
            words = [word.replace(f"{ROOT}/{part}", f"{self.folder}/{part}") for word in words]
        del words[words.index("-o") : words.index("-o") + 2]
        done = subprocess.run([*words, "-fsyntax-only"], cwd=found["directory"], capture_output=True, text=True, check=False)
        return done.stderr if done.returncode else ""

    def change(self, file, before, after):
        path = self.folder / file
        text = path.read_text()
        if text.count(before) != 1:
            sys.exit(f"{file} does not hold {before!r} once: this test must follow")
        path.write_text(text.replace(before, after))
