"""The screen of a batch: how many sites ran, what was wrong with the others, and where the results are."""

from collections.abc import Callable
from pathlib import Path

from waterbudget.answers.english import count
from waterbudget.batch.run import Batch, Done, run_batch
from waterbudget.errors import WaterbudgetError


def answer_batch(
    batch: Batch,
    out: Path,
    *,
    workers: int | None,
    scheduler: str | None,
    overwrite: bool,
    progress: Callable[[int], object],
) -> str:
    """Run a batch, arguments as for `run_batch`, and say what came of it.

    Raises InputError for what the user can mend, WaterbudgetError where the scheduler or its workers fail, or Ctrl-C
    stops the batch.
    """
    try:
        done = run_batch(batch, out, workers=workers, scheduler=scheduler, overwrite=overwrite, progress=progress)
    except KeyboardInterrupt:
        raise WaterbudgetError(
            "stopped; finished partitions are kept, and the same command goes on from there"
        ) from None
    return batch_screen(done)


def batch_screen(done: Done) -> str:
    """How many sites ran and in how many of them the stored rain lasts; the first faults stand there in full."""
    ran, faulty = done.sites - done.faulty, done.faulty
    lines = [f"{count(done.sites, 'site')}, {count(done.rows, 'row')} in {done.out}."]
    if done.kept:
        lines.append(f"{count(done.kept, 'site')} had been run before and stayed as they were.")
    if ran and not done.sizes:
        lines.append(f"At {done.lasting:,} of {ran:,} the stored rain lasts every day of its weather.")
    if faulty:
        lines.append(f"{count(faulty, 'site')} could not be run; the column error says why:")
        lines += [f"  {fault}" for fault in done.faults]
        lines += [f"  ... and {faulty - len(done.faults):,} more"] if faulty > len(done.faults) else []
    return "\n".join(lines)
