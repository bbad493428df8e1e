"""What the page of the comparison says by hand: what was seen, and what other scripts printed."""

FINDINGS = """\
## What stands out

All 432 cases of `full-1` and all 162 of `outside-1`, whose readings a circuit simulator made. In
both, kinds of damage are equally frequent, which the prior of `locate` does not presume: two
damages and bad joints come up far more often than it expects.

- **Floor and ceiling are where they must be.** Nothing is significantly better than the ceiling.
  Significantly worse than the floor are methods that presume one damage and answer where it is
  another: capacitance per metre on both suites, three readings on `full-1`, both ends on
  `outside-1`.
- **The negative control is exposed**: halved intervals hold the truth in 142 of 316 and in 61 of
  119.
- **The posterior's own intervals hold less than they promise**: 282 of 316 (89 %) and 105 of 119
  (88 %). Where it names the right damage they hold 265 of 283 (94 %) and 96 of 104 (92 %). The
  rest are places of something that is not there: 16 of the 48 misses are bad joints (one on a
  single cable, the others on parallel ones, where it is mostly undecided and gives the place of the
  likelier break); others are two damages that it takes for one. Whether it is calibrated over its
  own prior [is `locate` calibrated?](calibration.md) says.
- **Called locatable and missed**: 8 of 76 and 4 of 26. Four are two damages that look like one,
  0.8 to 6.8 m away; one more pair and the seven other misses are by 0.1 to 87 mm. This is why an
  answer says that several damages can look like one in between, and asks for a second, independent
  method before a floor is opened.
- **It names no place in 44 of 360 damages**, 26 of them bad joints, 14 of which it takes for
  healthy cables.
- **Healthy parallel cables stay undecided** (23 of 24, 9 of 9): a bad joint near their far end
  would read the same. Of the other 48 it takes 45 for healthy, one for a bad joint.
- **Least squares** is fast and far too sure (255 of 351): its intervals take the fit for the only
  one.
- **Classical methods** answer few cases and presume their one damage: both ends held 10 of 65,
  most of them joints and leaks that it takes for breaks. Where their damage is there they are good:
  the medians of Murray's bridge and of the insulation balance are 1 cm, three readings hold 30 of
  33. `echo_time`, `blavier`, `two_capacitances`, `two_ends` and `good_core` name no place in these
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
