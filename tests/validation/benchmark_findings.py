"""What the page of the comparison says by hand: what was seen, and what other scripts printed."""

FINDINGS = """\
## What stands out

Suite `full-1` was asked about its first 72 cases only: one of each of six kinds, three
constructions and four classes of meters. The posterior takes seconds a case, and this page was
made in an hour on a crowded machine. So intervals are wide, and what is not told apart here may
well differ. Suite `outside-1` waits for a longer run. The posterior answered before a limit was
put on the weight of a single point (see [locate](../locate.md)).

- **Floor and ceiling are where they must be.** Nothing is significantly better than the
  ceiling. Only capacitance per metre is significantly worse than the floor: it answers where
  something else is broken than it presumes.
- **The negative control is exposed**: halved intervals hold the truth in 19 of 49 (worked out
  from the posterior's rows, which is all that `overconfident` does).
- **The posterior's own intervals hold it in 43 of 49**, 88 %, and the interval of that share
  just leaves 95 % out. Four of the six misses are by 2 mm, 12 mm, 2 cm and 10 cm beyond the
  end of an interval; the other two are bad joints of parallel cables that it calls
  undecided, with the place of the more probable break. Counted are only cases for which it
  names a place; whether it is calibrated over its own prior,
  [is `locate` calibrated?](calibration.md) says, of far more cases. Here readings are of the
  lumped ladder, which it does not invert.
- **It names none in 11 of 60 damages**: eight are bad joints, mostly taken for healthy cables;
  a break and a leak are undecided with healthy ahead, and one pair of damages it finds to
  contradict every cable.
- **All four healthy parallel cables are undecided** (healthy 74 to 76 %), the other eight
  healthy ones healthy.
- **Least squares** is fast and far too sure: its intervals take the fit for the only one.
- **Classical methods** answer few cases, and presume their one damage: both ends held one truth
  in eleven, seven of them joints and leaks that it takes for breaks, and capacitance per metre
  names a place in most. Where their damage is there they are good: three readings' median is
  8 cm on the shorts for which they have an answer, three capacitances' 17 cm on breaks.
  `echo_time`, `blavier`, `two_capacitances`, `two_ends` and `good_core` named no place in these
  cases.
"""

CHECKS = """\
- `validation.benchmark_engines small` (36 cases; floor, three readings, three capacitances,
  least squares): the files of results of one process, of two, and of a Dask cluster of two
  workers, one of which was killed at 40 of 144, are the same to the last byte.
- `validation.benchmark_interrupted 50 2026` (36 cases, six estimators, chunks of 2): 50
  starts ended by SIGINT or SIGKILL in turn after a random time, a quarter of them with a
  worker process (7 came to their end before). Every run that ended by itself, and the last
  one, left the same files as one that nobody disturbed.
"""
