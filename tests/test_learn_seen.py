import math

import numpy as np
import pytest

from farface.kernel import OutOfRange
from farface.learn.seen import MISREAD_SHARE, SLIP_SHARE, log_seen, misreading, odds_text, seen_word
from farface.records import SEEN

NOTHING, FROSTED, STEADY, BURST_BELOW, RUNAWAY, BROKEN = range(len(SEEN))


def test_every_class_is_read_as_something() -> None:
    assert misreading().sum(axis=1) == pytest.approx(1.0, abs=1e-12)
    assert misreading().min() > 0.0


def test_misreadings_go_to_the_neighbours() -> None:
    read, slip = misreading(), SLIP_SHARE / len(SEEN)
    each = (1.0 - SLIP_SHARE) * MISREAD_SHARE / 2.0 + slip
    assert read[STEADY, FROSTED] == pytest.approx(each)
    assert read[STEADY, BURST_BELOW] == pytest.approx(each)
    assert read[NOTHING, FROSTED] == pytest.approx(2.0 * each - slip)  # an end has one neighbour only
    assert read[NOTHING, BROKEN] == pytest.approx(slip)
    assert read[STEADY, STEADY] == pytest.approx((1.0 - SLIP_SHARE) * (1.0 - MISREAD_SHARE) + slip)


def test_without_misreading_only_slips_remain() -> None:
    off = misreading(0.0)[~np.eye(len(SEEN), dtype=bool)]
    assert off == pytest.approx(SLIP_SHARE / len(SEEN))


@pytest.mark.parametrize("share", [-0.1, 0.6, math.nan])
def test_a_share_beyond_reason_is_refused(share: float) -> None:
    with pytest.raises(OutOfRange, match=r"between 0 and 0\.5"):
        misreading(share)


@pytest.mark.exact
def test_the_likelihood_of_a_class_by_hand() -> None:
    odds = np.array([[[0.0, 0.1, 0.7, 0.0, 0.2, 0.0], [0.0, 0.0, 0.0, 0.0, 0.0, 1.0]]])
    found = log_seen(odds, np.array([STEADY, NOTHING]), misreading())
    slip = SLIP_SHARE / 6
    near = (1 - SLIP_SHARE) * MISREAD_SHARE / 2 + slip
    same = (1 - SLIP_SHARE) * (1 - MISREAD_SHARE) + slip
    assert found[0, 0] == pytest.approx(math.log(0.1 * near + 0.7 * same + 0.2 * slip), abs=1e-12)
    assert found[0, 1] == pytest.approx(math.log(slip), abs=1e-12)


def test_the_matrix_leads_from_the_true_class_to_the_written_one() -> None:
    """Nothing has one neighbour and frosted two, so the one is misread as the other twice as often."""
    sure = np.zeros((1, 1, 6))
    sure[0, 0, NOTHING] = 1.0
    there = math.exp(log_seen(sure, np.array([FROSTED]), misreading())[0, 0])
    back = math.exp(log_seen(sure[..., [1, 0, 2, 3, 4, 5]], np.array([NOTHING]), misreading())[0, 0])
    assert there == pytest.approx(2.0 * back, rel=0.02)


def test_classes_read_as_words() -> None:
    assert seen_word("burst_below") == "burst below"


def test_odds_are_never_none_and_never_all() -> None:
    texts = [odds_text(odds) for odds in (0.0, 0.004, 0.0512, 0.4567, 0.994, 1.0)]
    assert texts == ["less than 0.1 %", "0.4 %", "5.1 %", "46 %", "99 %", "more than 99 %"]
