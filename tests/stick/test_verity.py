from __future__ import annotations

import hashlib
import io
import random
import shutil
import subprocess
from pathlib import Path

import pytest

from burnin.stick.verity import BLOCK_BYTES, root_hash

SALT = bytes(range(32))


def test_one_block_is_hashed_after_its_salt() -> None:
    block = b"\x17" * BLOCK_BYTES
    assert root_hash(io.BytesIO(block), BLOCK_BYTES, SALT) == hashlib.sha256(SALT + block).digest()


def test_any_changed_byte_changes_the_hash() -> None:
    data = bytearray(random.Random(3).randbytes(130 * BLOCK_BYTES))
    right = root_hash(io.BytesIO(bytes(data)), len(data), SALT)
    for at in (0, 65 * BLOCK_BYTES + 7, len(data) - 1):
        data[at] ^= 1
        assert root_hash(io.BytesIO(bytes(data)), len(data), SALT) != right
        data[at] ^= 1


@pytest.mark.tool("veritysetup")
@pytest.mark.parametrize("blocks", [1, 128, 129, 500])
def test_the_kernels_own_tool_gives_the_same_hash(tmp_path: Path, blocks: int) -> None:
    tool = shutil.which("veritysetup", path="/usr/sbin:/usr/bin:/sbin")
    if tool is None:
        pytest.skip("no veritysetup here (Debian's package cryptsetup-bin)")
    data = random.Random(blocks).randbytes(blocks * BLOCK_BYTES)
    file, tree = tmp_path / "data", tmp_path / "tree"
    file.write_bytes(data)
    told = subprocess.run(
        [tool, "format", str(file), str(tree), f"--salt={SALT.hex()}"],
        capture_output=True, text=True, check=True,
    ).stdout  # fmt: skip
    assert root_hash(io.BytesIO(data), len(data), SALT).hex() in told
