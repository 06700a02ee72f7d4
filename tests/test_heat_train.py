import numpy as np
import pytest

from farface.heat.drain import LOG_ALPHA_W, LOG_TAU, PROBES_ZETA, drain_at, drain_table
from farface.heat.halfspace import Pair, response
from farface.heat.train import compress, rise_before_pulses

GLASS_WATER = Pair(diffusivity_ratio=0.29, conductivity_ratio=0.6)
# What 60 exponentials miss of the exact response, as a share of T0.
COMPRESSION = 1e-7
# What linear interpolation of the table misses, as a share of the on-axis rise; largest where the bath
# absorbs within a spot radius.
INTERPOLATION = 0.012


@pytest.mark.exact
@pytest.mark.parametrize("zeta", [0.1, 1.2, 4.0])
@pytest.mark.parametrize("rho", [0.0, 0.75])
def test_exponentials_reproduce_the_response(zeta: float, rho: float) -> None:
    fitted = compress(GLASS_WATER, alpha_w=0.02, zeta=zeta, rho=rho)
    tau = np.random.default_rng(3).uniform(np.log(2e-4), np.log(5e2), 60)
    exact = response(GLASS_WATER, alpha_w=0.02, tau=np.exp(tau), zeta=zeta, rho=rho)
    found = np.exp(-np.outer(np.exp(tau), fitted.rates)) @ fitted.weights
    assert np.abs(found - exact).max() < COMPRESSION
    assert fitted.misfit < COMPRESSION


@pytest.mark.exact
def test_the_recursion_equals_the_plain_double_sum() -> None:
    """The slow, obvious twin: every pulse adds up every earlier one."""
    fitted = compress(GLASS_WATER, alpha_w=0.02, zeta=1.2)
    rng = np.random.default_rng(5)
    pulse_tau = np.cumsum(rng.exponential(0.01, 200))
    heating_k = rng.uniform(20.0, 80.0, 200)
    left = [
        sum(
            heating_k[j] * float(fitted.weights @ np.exp(-fitted.rates * (pulse_tau[n] - pulse_tau[j])))
            for j in range(n)
        )
        for n in range(200)
    ]
    found = rise_before_pulses(fitted, pulse_tau=pulse_tau, heating_k=heating_k)
    assert found == pytest.approx(left, rel=1e-10, abs=1e-9)


@pytest.mark.exact
@pytest.mark.parametrize("gap_tau", [1e-4, 0.3, 40.0, 1e3])
def test_a_pulse_s_memory_decays_as_its_exponentials_do(gap_tau: float) -> None:
    """Decays are squared up from the slowest four; rounding grows as the square, to 1e-8 of the fastest."""
    fitted = compress(GLASS_WATER, alpha_w=0.02, zeta=0.1)
    left = rise_before_pulses(fitted, pulse_tau=np.array([0.0, gap_tau]), heating_k=np.ones(2))
    assert left[1] == pytest.approx(float(fitted.weights @ np.exp(-fitted.rates * gap_tau)), rel=1e-8)


@pytest.mark.exact
def test_the_drain_table_reads_the_exact_response() -> None:
    factor = drain_table(GLASS_WATER).factor
    rng = np.random.default_rng(7)
    for _ in range(60):
        log_alpha_w = rng.uniform(LOG_ALPHA_W[0], LOG_ALPHA_W[-1])
        log_tau = rng.uniform(LOG_TAU[0], LOG_TAU[-1])
        probe = int(rng.integers(PROBES_ZETA.size))
        tau = np.exp(log_tau)
        exact = response(GLASS_WATER, alpha_w=float(np.exp(log_alpha_w)), tau=tau, zeta=PROBES_ZETA[probe])
        found = drain_at(factor, log_alpha_w, probe, log_tau) / (1.0 + 8.0 * tau)
        assert found == pytest.approx(float(exact), abs=INTERPOLATION / (1.0 + 8.0 * tau))
