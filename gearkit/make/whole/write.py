"""Writes a whole train: parts, gauge, bill of parts and pages."""

from __future__ import annotations

from pathlib import Path

from gearkit.make.solid import dxf
from gearkit.make.whole import bill
from gearkit.make.whole.assembly import document
from gearkit.make.whole.files import on_bed, outlines, stl, three_mf, triangles
from gearkit.make.whole.half_section.elements import NotPrintableError
from gearkit.make.whole.handles import gauge
from gearkit.make.whole.model import Whole
from gearkit.make.whole.proof import Check
from gearkit.print import engine
from gearkit.text.files import write_into


def refuse_failed(whole: Whole, checks: list[Check]) -> None:
    """Refuse a train that is not as it must be.

    Args:
        whole: the train.
        checks: what was looked at.

    Raises:
        NotPrintableError: a check failed; says which.
    """
    failed = [check for check in checks if not check.passed]
    if failed:
        changes = "; or ".join(dict.fromkeys(check.change for check in failed))
        raise NotPrintableError(
            f"{whole.layout.name} cannot be printed as a whole:\n" + "\n".join(f"  {check.what}" for check in failed) + "\n",
            changes,
            elsewhere=True,
        )


def write(whole: Whole, checks: list[Check], folder: Path) -> list[Path]:
    """Write every file of a train that passed its checks.

    Args:
        whole: the train.
        checks: what was looked at.
        folder: made if it is not there; files of the same names are replaced.

    Raises:
        NotPrintableError: a check failed.
        GearkitError: the folder cannot be written, or the library for paper is not installed.
    """
    refuse_failed(whole, checks)
    first = gauge(whole.workshop)
    files: dict[str, bytes] = {}
    for made in [*first, *whole.made]:
        files[f"{made.name}.stl"] = stl(*triangles(on_bed(made)))
        flat = outlines(made)
        if flat:
            files[f"{made.name}.dxf"] = dxf(flat).encode("ascii")
    files["gauge.3mf"] = three_mf(first)
    files["train.3mf"] = three_mf(whole.made)
    files["bill_of_parts.csv"] = _bill(whole).encode("utf-8")
    files["assembly.pdf"] = engine.pdf([document(whole, checks)])
    return write_into(folder, files)


def _bill(whole: Whole) -> str:
    lines = ["file,part,pieces,length_mm,width_mm,height_mm,minutes,filament_m,grams"]
    for name, words, count, size, effort in bill.table(whole):
        figures = ",".join(f"{value:.1f}" for value in (*size, effort.minutes, effort.metres, effort.grams))
        lines.append(f'{name},"{words}",{count},{figures}')
    lines += [f'bought,"{words}",{count},,,,,,' for count, words in bill.screws(whole)]
    return "\n".join(lines) + "\n"
