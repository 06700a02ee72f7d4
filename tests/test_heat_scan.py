import numpy as np
import pytest

from farface.heat.halfspace import Pair, response
from farface.heat.scan import rise_of_scan_k
from farface.heat.train import compress, rise_before_pulses

GLASS_WATER = Pair(diffusivity_ratio=0.29, conductivity_ratio=0.6)
ONE_MEDIUM = Pair(diffusivity_ratio=1.0, conductivity_ratio=1.0)
ALPHA_W, ZETA = 0.02, 1.2
# What is lost by letting glass spread heat sideways as the liquid does, as a share of one pulse's T0.
SPREADING = 0.02
# What exponentials miss of the exact response.
COMPRESSION = 5e-6


@pytest.mark.exact
def test_a_scan_at_one_spot_is_a_train() -> None:
    on_axis = compress(GLASS_WATER, alpha_w=ALPHA_W, zeta=ZETA)
    rng = np.random.default_rng(6)
    pulse_tau, heating_k = np.cumsum(rng.exponential(0.02, 50)), rng.uniform(20.0, 80.0, 50)
    still = np.zeros((50, 2))
    found = rise_of_scan_k(
        on_axis, pulse_tau=pulse_tau, pulse_rho=still, heating_k=heating_k, tau=pulse_tau, rho=still
    )
    assert found == pytest.approx(rise_before_pulses(on_axis, pulse_tau=pulse_tau, heating_k=heating_k))


@pytest.mark.exact
@pytest.mark.parametrize(("pair", "miss"), [(ONE_MEDIUM, COMPRESSION), (GLASS_WATER, SPREADING)])
def test_a_moving_beam_is_the_sum_of_exact_responses(pair: Pair, miss: float) -> None:
    """Twenty pulses along a line and back beside it, read at six places after the last."""
    on_axis = compress(pair, alpha_w=ALPHA_W, zeta=ZETA)
    step = np.arange(20)
    pulse_tau = 0.03 * step
    pulse_rho = np.column_stack([np.where(step < 10, step, 19 - step) * 0.6, np.where(step < 10, 0.0, 0.6)])
    tau, rho = np.full(6, 0.7), np.column_stack([np.linspace(-1.0, 6.0, 6), np.full(6, 0.3)])
    exact = [
        sum(
            float(response(pair, alpha_w=ALPHA_W, tau=0.7 - t, zeta=ZETA, rho=float(np.hypot(*(place - p)))))
            for t, p in zip(pulse_tau, pulse_rho, strict=True)
        )
        for place in rho
    ]
    found = rise_of_scan_k(
        on_axis, pulse_tau=pulse_tau, pulse_rho=pulse_rho, heating_k=np.ones(20), tau=tau, rho=rho
    )
    assert np.abs(found - exact).max() < miss
