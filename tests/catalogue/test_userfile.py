"""A file is read whole, whatever size the system states for it, and not beyond what is allowed."""

import sys
from pathlib import Path

import pytest

from refsolver.catalogue.userfile import FileUnreadable, file_bytes


@pytest.mark.parametrize("size", [0, 1, 4095, 4096, 4097, 300_000])
def test_every_byte_is_read(tmp_path, size):
    path = tmp_path / "file"
    path.write_bytes(bytes(i % 251 for i in range(size)))
    assert file_bytes(path) == path.read_bytes()
    assert len(file_bytes(path, max(size, 1))) == size


def test_a_file_beyond_what_is_allowed_is_refused(tmp_path):
    path = tmp_path / "file"
    path.write_bytes(b"12345")
    with pytest.raises(FileUnreadable, match="5 bytes long; at most 4"):
        file_bytes(path, 4)


@pytest.mark.skipif(sys.platform != "linux", reason="only there the system has such files")
def test_a_file_of_the_system_that_states_no_size_is_read_too():
    path = Path("/proc/self/status")
    assert path.stat().st_size == 0
    assert b"Pid:" in file_bytes(path)
    assert len(file_bytes(path, 20)) == 21
