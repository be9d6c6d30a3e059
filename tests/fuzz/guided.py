"""Searches for inputs that break a reader, guided by which of its branches are reached; run by hand, for as long as wished.

    python -m tests.fuzz.guided answer --seconds 120

It needs the package atheris, which is no dependency of the kit. What it finds is written into `tests/fuzz/cases/TARGET`,
where the ordinary tests read it from then on; the corpus that it works from is thrown away.
"""

from __future__ import annotations

import argparse
import contextlib
import importlib
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

CASES = Path(__file__).parent / "cases"
WATCHED = (
    "gearkit.answers.read.tokens",
    "gearkit.answers.read.reader",
    "gearkit.answers.read.expression",
    "gearkit.answers.read.limits",
    "gearkit.answers.comparison.compare",
    "gearkit.answers.read.units",
    "gearkit.answers.read.split",
    "gearkit.answers.judge.marking",
    "gearkit.answers.kinds.numbers",
    "gearkit.answers.kinds.words",
    "gearkit.answers.kinds.letters",
    "graders.run.engines.reply_protocol",
    "graders.run.remote.remote_protocol",
    "graders.run.read.notebooks",
    "graders.run.read.finding",
    "graders.run.read.reading",
    "graders.run.read.harvest",
)


def main(words: Sequence[str]) -> None:
    """Search. Arguments: the target and the time.

    Args:
        words: the command line.
    """
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("target")
    parser.add_argument("--seconds", type=int, default=60)
    options = parser.parse_args(words)
    import atheris

    with atheris.instrument_imports(include=list(WATCHED)):
        for name in WATCHED:
            importlib.import_module(name)
    from tests.fuzz.seeds import SEEDS
    from tests.fuzz.targets import TARGETS

    checker = TARGETS[options.checker]
    with tempfile.TemporaryDirectory() as folder:
        for place, seed in enumerate(SEEDS[options.checker]):
            (Path(folder) / f"seed{place}").write_bytes(seed)
        kept = CASES / options.checker
        kept.mkdir(parents=True, exist_ok=True)
        arguments = [
            sys.argv[0],
            folder,
            f"-max_total_time={options.seconds}",
            "-timeout=5",
            "-max_len=4000",
            "-rss_limit_mb=2048",
            f"-artifact_prefix={kept}/",
            "-print_final_stats=1",
        ]
        atheris.Setup(arguments, checker)
        with contextlib.suppress(KeyboardInterrupt):
            atheris.Fuzz()


if __name__ == "__main__":
    main(sys.argv[1:])
