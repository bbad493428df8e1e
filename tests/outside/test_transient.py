"""Charging through a tester's resistance, against a transient of the circuit simulator."""

import pytest
from outside.against_transient import ngspice_charging


@pytest.mark.ngspice
def test_charging_agrees_with_ngspice():
    outcome = ngspice_charging.run()
    assert outcome.cases == 15
    assert outcome.largest <= ngspice_charging.allowed, outcome.at
