"""What is kept belongs to the very objects it was made from."""

import pytest

from refsolver.statics.worked_out import LastWorkedOut


def test_the_same_objects_give_what_was_made_before_and_equal_ones_do_not():
    kept, made = LastWorkedOut(), []
    one, other, like_one = [1], [2], [1]

    def make():
        made.append(len(made))
        return made[-1]

    assert [kept.of((one, other), make), kept.of((one, other), make)] == [0, 0]
    assert kept.of((like_one, other), make) == 1
    assert kept.of((like_one,), make) == 2
    assert kept.of((one, other), make) == 3  # only the last is kept


def test_a_value_that_is_none_is_kept_too():
    kept, made = LastWorkedOut(), []
    case = object()
    for _ in range(2):
        assert kept.of((case,), lambda: made.append(0)) is None
    assert made == [0]


def test_nothing_is_kept_without_objects_or_after_a_failure():
    kept, case = LastWorkedOut(), object()
    assert [kept.of((), lambda n=n: n) for n in range(3)] == [0, 1, 2]
    with pytest.raises(ZeroDivisionError):
        kept.of((case,), lambda: 1 // 0)
    assert kept.of((case,), lambda: "made") == "made"
