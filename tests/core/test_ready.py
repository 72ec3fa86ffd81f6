"""Handles with any number are waited for: a process that keeps many open has numbers over 1023."""

from __future__ import annotations

import os
import resource
import socket

import pytest

from burnin.core.files.ready import ready

_MANY = 1100


def test_a_handle_above_the_first_thousand_is_heard() -> None:
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if hard != resource.RLIM_INFINITY and hard < _MANY + 100:
        pytest.skip(f"this account may open {hard} files")
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, _MANY + 100), hard))
    one, other = socket.socketpair()
    kept = [os.open(os.devnull, os.O_RDONLY) for _ in range(_MANY)]
    late, heard = socket.socketpair()
    try:
        assert late.fileno() > 1023
        assert ready([late, one], 0.0) == []
        heard.send(b"x")
        assert ready([late, one], 5.0) == [late]
        assert ready([late.fileno(), one.fileno()], 5.0) == [late.fileno()]
    finally:
        for handle in kept:
            os.close(handle)
        for end in (one, other, late, heard):
            end.close()
        resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))
