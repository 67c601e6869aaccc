"""Every console block of README.md is run and must print what stands there.

A line "..." in a block stands for any lines. Blocks that begin with ./get-started run for minutes and
change the machine: of these only the parts that can be compared are, against the demonstration.
`readme_test.py DECKLE SOURCE --write` puts the real output into the page.
"""
import pathlib
import re
import shlex
import subprocess
import sys

from support import environment

BLOCK = re.compile(r"```console\n\$ (.*?)\n(.*?)```", re.S)


def output_of(command, deckle, source):
    words = shlex.split(command)
    if words[0] == "./get-started":
        words = ["deckle", "footprint", "inventories/demonstration"] if len(words) == 1 else None
    if words is None:
        return None
    done = subprocess.run([deckle, *words[1:]], cwd=source, capture_output=True, text=True, env=environment(), check=False)
    return done.stdout + done.stderr


def matches(shown, real):
    """Whether the shown text is the real one, '...' lines standing for any lines."""
    parts = [re.escape(part.strip("\n")) for part in re.split(r"^\.\.\.$", shown, flags=re.M)]
    pattern = r"(?:.*\n)*?".join(("(?:%s\n)" % part) if part else "" for part in parts)
    return re.fullmatch(pattern, real if real.endswith("\n") else real + "\n") is not None


def main(deckle, source, *options):
    page = pathlib.Path(source) / "README.md"
    text = page.read_text(encoding="utf-8")
    blocks = BLOCK.findall(text)
    if len(blocks) < 7:
        sys.exit("README.md shows fewer commands than it should")
    if "--write" in options:
        def fill(block):
            command = block.group(1)
            if command.startswith("./get-started"):
                return block.group(0)
            return "```console\n$ %s\n%s```" % (command, output_of(command, deckle, source))
        page.write_text(BLOCK.sub(fill, text), encoding="utf-8")
        return
    wrong = []
    for command, shown in blocks:
        real = output_of(command, deckle, source)
        if real is not None and not matches(shown, real):
            wrong.append("$ %s\nprints\n%s\nREADME.md shows\n%s" % (command, real, shown))
    if wrong:
        sys.exit("\n".join(wrong))
    print("%d commands of README.md print what it shows" % len(blocks))


if __name__ == "__main__":
    main(*sys.argv[1:])
