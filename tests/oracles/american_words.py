"""British words in the program's own texts, against two lists of words.

    cargo build -p letters --example american
    tests/oracles/american_words.py target/debug/examples/american

Reads what letters may quote: the sentences of gauges, of the engine and of papers, and the shipped rulebooks. Letters put them
into American English word by word; a word that is left and stands in Debian's list of British words (`wbritish`) but not
in that of American ones (`wamerican`) is missing from the table. Ends with 1 and these words.
"""

import pathlib
import re
import subprocess
import sys
import tomllib

ROOT = pathlib.Path(__file__).parents[2]
LISTS = pathlib.Path("/usr/share/dict")
# British, or so the lists say, but plain English on both sides.
BOTH = set()


def strings_of_rust(path):
    """The string literals outside comments and tests, with what continues a line joined."""
    source = path.read_text().split("#[cfg(test)]")[0]
    code = "\n".join(line for line in source.splitlines() if not line.lstrip().startswith("//"))
    for literal in re.findall(r'"((?:[^"\\]|\\.)*)"', code, re.DOTALL):
        yield re.sub(r"\\\n\s*", "", literal)


def strings_of_rulebook(path):
    def within(value):
        if isinstance(value, dict):
            for name, inner in value.items():
                if name != "code":
                    yield from within(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from within(inner)
        elif isinstance(value, str):
            yield value

    yield from within(tomllib.loads(path.read_text()))


def texts():
    for folder in ("crates/gauge/src", "crates/engine/src", "crates/model/src"):
        for path in sorted((ROOT / folder).rglob("*.rs")):
            yield from ((path.relative_to(ROOT), text) for text in strings_of_rust(path))
    for path in sorted((ROOT / "seed/rulebooks").glob("*.toml")):
        yield from ((path.relative_to(ROOT), text) for text in strings_of_rulebook(path))


def word_list(name):
    return {word.lower() for word in (LISTS / name).read_text().split()}


def main(program):
    british_only = word_list("british-english") - word_list("american-english") - BOTH
    told = [(path, " ".join(text.split())) for path, text in texts()]
    lines = "".join(f"{text}\n" for _, text in told)
    adapted = subprocess.run([program], input=lines, capture_output=True, text=True, check=True).stdout
    adapted = adapted.splitlines()
    assert len(adapted) == len(told) > 1000, (len(adapted), len(told))
    left = {}
    for (path, text), american in zip(told, adapted):
        for word in re.findall(r"[a-z]+", american.lower()):
            if word in british_only:
                left.setdefault(word, f"{path}: {text[:80]}")
    changed = sum(text != american for (_, text), american in zip(told, adapted))
    for word, where in sorted(left.items()):
        print(f"{word} ({where})", file=sys.stderr)
    print(f"{len(told)} texts, {changed} differ in American English, {len(left)} British words left")
    return 1 if left or changed < 50 else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
