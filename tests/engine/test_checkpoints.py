"""What is kept of stopped work is believed only as long as it is what was kept."""

import numpy as np
import pytest

from dryingsim.engine.checkpoints import Checkpoints

NUMBERS = {"done_s": np.array([1.0, 2.5]), "steps": np.array([3, 4])}


def kept(folder):
    store = Checkpoints(folder, "a piece of work")
    store.keep(0, NUMBERS)
    store.keep(1, {name: 2 * values for name, values in NUMBERS.items()})
    return sorted(folder.iterdir())


def test_what_is_whole_comes_back_to_the_last_bit(tmp_path):
    kept(tmp_path)
    store = Checkpoints(tmp_path, "a piece of work")
    found = dict(store.load(3))
    assert (sorted(found), store.damaged) == ([0, 1], 0)
    for name, values in NUMBERS.items():
        np.testing.assert_array_equal(found[0][name], values)
        assert found[0][name].dtype == values.dtype
    assert dict(Checkpoints(tmp_path, "another piece").load(3)) == {}


def cut_short(content):
    return content[:-30]


def one_bit_off(content):
    return content[:-200] + bytes([content[-200] ^ 1]) + content[-199:]


def numbers_of_somebody_else(content):
    import hashlib
    import io

    packed = io.BytesIO()
    np.savez(packed, done_s=np.zeros(2), steps=np.zeros(2))
    return hashlib.sha256(packed.getvalue()).digest() + packed.getvalue()


@pytest.mark.parametrize(
    "damage", [cut_short, one_bit_off, numbers_of_somebody_else, lambda _: b"", lambda _: b"\x80\x04]."]
)
def test_what_is_damaged_is_done_again(tmp_path, damage):
    first, _ = kept(tmp_path)
    first.write_bytes(damage(first.read_bytes()))
    store = Checkpoints(tmp_path, "a piece of work")
    assert (sorted(dict(store.load(2))), store.damaged) == ([1], 1)
    store.keep(0, NUMBERS)
    assert sorted(dict(Checkpoints(tmp_path, "a piece of work").load(2))) == [0, 1]


def test_a_chunk_in_the_place_of_another_is_not_believed(tmp_path):
    first, second = kept(tmp_path)
    first.write_bytes(second.read_bytes())
    store = Checkpoints(tmp_path, "a piece of work")
    assert (sorted(dict(store.load(2))), store.damaged) == ([1], 1)
