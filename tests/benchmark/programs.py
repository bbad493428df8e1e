"""Programs that misbehave, for tests of what becomes of them."""

from __future__ import annotations

import os
import subprocess
import sys
import time


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main() -> None:
    how = sys.argv[1]
    if how == "crash at once":
        os._exit(3)
    if how == "deaf":
        time.sleep(60)
    for number, line in enumerate(sys.stdin):
        ident = line.partition('"id":"')[2].partition('"')[0]
        good = f'{{"id":"{ident}","position_m":1.5,"interval_m":[1.0,2.0]}}'
        if number != 0:
            _say(good)
            continue
        if how == "crash":
            os._exit(3)
        if how == "silence":
            time.sleep(60)
        if how == "leaves one behind":
            # A session of its own, that holds both pipes and outlives whoever is killed.
            subprocess.Popen(["sleep", "5"], start_new_session=True)
            time.sleep(60)
        if how == "garbage":
            _say("no JSON here")
        if how == "wrong id":
            _say(good.replace(f'"{ident}"', '"other"'))
        if how == "nothing said":
            _say(f'{{"id":"{ident}"}}')
        if how == "unknown key":
            _say(good.replace("position_m", "position"))
        if how == "reversed interval":
            _say(good.replace("[1.0,2.0]", "[2.0,1.0]"))
        if how == "not a number":
            _say(good.replace("1.5", "NaN"))
        if how == "long line":
            _say("x" * 3_000_000)
        if how == "flood":
            while True:
                _say("x" * 1000)
        if how == "output closed":
            os.close(1)
            time.sleep(0.2)
            os._exit(0)
        if how == "two answers":
            _say(good + "\n" + good)
        if how == "good":
            _say(good)
        if how == "declined":
            _say(f'{{"id":"{ident}","declined":"too hard"}}')


if __name__ == "__main__":
    main()
