"""The software adapter that faults are tried on."""

from __future__ import annotations

from tests.engine.conftest import software_vulkan as software_vulkan
