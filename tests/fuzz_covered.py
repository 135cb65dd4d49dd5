"""Texts that lead the program where none led it before: a fuzzer that sees which lines it reached.

    python tests/fuzz_covered.py recipes 1200     20 minutes of recipes: reader and all checks
    python tests/fuzz_covered.py lists 600        stock and price lists, and remembered columns
    python tests/fuzz_covered.py samples 600      logs of measured samples, day by day

Needs the extra `nightly`. It begins with the recipes and lists that are shipped and with the texts
kept in `tests/stored/fuzzed`, and ends at the first text that is answered with anything but words,
or takes longer than a minute and a half (all is some ten times slower here). At the end some short
ones of the texts that reached new lines are kept there; `tests/test_fuzzed.py` reads them in every
run.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path[:0] = [str(ROOT / "recipe"), str(ROOT / "tests")]
KEPT = ROOT / "tests" / "stored" / "fuzzed"
#: Texts kept of each kind, and bytes of the longest.
MOST_KEPT, LONGEST = 60, 600


def recipes(data: bytes) -> None:
    """Read a recipe and ask every check."""
    from ringstep.checks.pipeline import findings_of, first_findings, view_of
    from ringstep.language.source import Refused, source_from_bytes

    try:
        source = source_from_bytes(data, "it.weave")
    except Refused:
        return
    findings_of(view_of(source))
    first_findings(view_of(source))


def lists(data: bytes) -> None:
    """Read a list as one of rings, as one of prices, and as remembered columns."""
    from ringstep.language.source import Refused
    from ringstep.shop.columns import read_remembered
    from ringstep.shop.tables import read_prices, read_stock

    for read in (read_stock, read_prices):
        with suppress(Refused):
            read(data, "it.csv")
    with suppress(Refused):
        read_remembered(data.decode("utf-8", "replace"), "it.csv.columns")


def samples(data: bytes) -> None:
    """Read a log; each line is an entry or told why not, and an entry reads back as it is."""
    from ringstep.shop.sample_log import read_log

    log = read_log(data.decode("utf-8", "replace"))
    again = read_log("\n".join(str(entry) for entry in log.entries))
    assert not again.unread, again.unread
    assert [str(e) for e in again.entries] == [str(e) for e in log.entries]


KINDS: dict[str, Callable[[bytes], None]] = {
    "recipes": recipes, "lists": lists, "samples": samples
}  # fmt: skip


def seeds(kind: str) -> list[bytes]:
    """What a kind begins with."""
    kept = [path.read_bytes() for path in sorted((KEPT / kind).glob("*"))]
    folders = ("library", "examples", "tests/cases") if kind == "recipes" else ("examples",)
    ends = {"recipes": "*.weave", "lists": "*.csv", "samples": "*.samples"}[kind]
    shipped = [p.read_bytes() for f in folders for p in sorted((ROOT / f).glob(ends))]
    if kind == "samples":
        entries = (
            "2024-03-01; 10 units = 49 mm; hanging; A wire 1.2 mm, inside 5 mm, copper; weave x",
            "2024-03-08; 10 byz = 1 5/8 in; laid flat; wire 16 swg, inside 5 mm; note too loose",
        )
        shipped = ["\n".join(entries).encode()]
    return kept + shipped


def dictionary() -> str:
    """The words of recipes and lists, as the fuzzer reads a dictionary."""
    from ringstep.language.words import HEADINGS, OPTIONS, PIECE_WORDS, PLACES, VERBS
    from ringstep.shop.list_words import __dict__ as list_words

    heads = {w for v in list_words.values() if isinstance(v, tuple) for w in v}
    words = {*HEADINGS, *OPTIONS, *PIECE_WORDS, *PLACES, *VERBS}
    words |= {w for w in heads if isinstance(w, str)}
    words |= {" mm", " swg", " if there", ":\n  ", "\nunit:\n  add ", " picks 2", ";", '"'}
    escaped = "".maketrans({"\n": "\\x0a", '"': '\\"', "\\": "\\\\"})
    return "".join(f'"{w.translate(escaped)}"\n' for w in sorted(words) if w.isascii())


def search(kind: str, corpus: str, seconds: int, words: str) -> None:
    """Fuzz in this process; it ends with it."""
    import atheris

    with atheris.instrument_imports(include=["ringstep"]):
        import ringstep.checks.blame
        import ringstep.checks.pipeline
        import ringstep.shop.sample_log
        import ringstep.shop.tables  # noqa: F401
        from ringstep.checks.rules import all_checks

        all_checks()
    run = KINDS[kind]
    told = [sys.argv[0], corpus, f"-max_total_time={seconds}", "-timeout=90", "-max_len=4096"]
    atheris.Setup([*told, f"-dict={words}", "-rss_limit_mb=4096", "-print_final_stats=1"], run)
    atheris.Fuzz()


def keep(kind: str, corpus: Path) -> int:
    """Keep the shortest of the texts that were found beside what is shipped; gives how many."""
    begun = set(seeds(kind))
    found = sorted((path.read_bytes() for path in corpus.iterdir()), key=lambda d: (len(d), d))
    fresh = [data for data in found if len(data) <= LONGEST and data not in begun]
    step = max(1, len(fresh) // MOST_KEPT)
    (KEPT / kind).mkdir(parents=True, exist_ok=True)
    for old in (KEPT / kind).iterdir():
        old.unlink()
    chosen = fresh[::step][:MOST_KEPT]
    for number, data in enumerate(chosen, 1):
        (KEPT / kind / f"{number:02}").write_bytes(data)
    return len(chosen)


def main(kind: str, seconds: int) -> int:
    """Fuzz, make the corpus small, keep some of it; 1 where a text was found that goes wrong."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        (folder / "all").mkdir()
        for number, data in enumerate(seeds(kind)):
            (folder / "all" / f"seed-{number}").write_bytes(data)
        (folder / "words").write_text(dictionary(), "utf-8")
        own = [sys.executable, __file__, kind]
        done = subprocess.run([*own, "--in", scratch, str(seconds)], cwd=folder, check=False)
        for path in folder.glob("*-*"):
            if path.name.startswith(("crash", "timeout", "oom")):
                print(f"{path.name}:\n{path.read_bytes()!r}")
        if done.returncode:
            return 1
        print(f"kept {keep(kind, folder / 'all')} texts in {KEPT / kind}; look at git diff")
    return 0


if __name__ == "__main__":
    match sys.argv[1:]:
        case [kind, "--in", folder, seconds]:
            search(kind, f"{folder}/all", int(seconds), f"{folder}/words")
        case [kind, seconds] if kind in KINDS:
            sys.exit(main(kind, int(seconds)))
        case _:
            sys.exit(__doc__)
