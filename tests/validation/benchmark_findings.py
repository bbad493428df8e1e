"""What the page of the comparison says by hand: what was seen, and what other scripts printed."""

FINDINGS: tuple[str, ...] = ()

CHECKS = (
    "- `validation.benchmark_engines small` (36 cases; floor, three readings, three capacitances,",
    "  least squares): the files of results of one process, of two, and of a Dask cluster of two",
    "  workers, one of which was killed at 40 of 144, are the same to the last byte.",
    "- `validation.benchmark_interrupted 50 2026` (36 cases, six estimators, chunks of 2): 50",
    "  starts ended by SIGINT or SIGKILL in turn after a random time, a quarter of them with a",
    "  worker process (7 came to their end before). Every run that ended by itself, and the last",
    "  one, left the same files as one that nobody disturbed.",
)
