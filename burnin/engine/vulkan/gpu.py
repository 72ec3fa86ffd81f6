"""An opened Vulkan device: pipelines, submission, and waiting for what was submitted.

The library waits on a thread that blocks until *everything* queued is done, which would leave the
card idle between slices. So we poll without blocking, where the library lets us, and fall back to
its own waiting where it does not.
"""

from __future__ import annotations

import importlib
import importlib.resources
import logging
import time
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Any

from burnin.core.errors import EngineUnavailable
from burnin.engine.device.preparing import idle, may_queue
from burnin.engine.vulkan.vulkan_errors import LostListener, VulkanReason, lost, refused

if TYPE_CHECKING:
    from wgpu import GPUDevice

Call = Callable[[], Any]
POLL_S = 50e-6
ROUND_BYTES = 256
"""Dynamic offsets of uniform buffers are multiples of this at most (WebGPU default limit)."""
CLOCK_FEATURES = frozenset({"timestamp-query", "timestamp-query-inside-encoders"})
WISHED_FEATURES = CLOCK_FEATURES | {"mappable-primary-buffers", "shader-f16", "shader-f64"}
"""Asked for where the adapter has them: kernels that work on the bench's memory, the card's own
clock, packed half precision, double precision. Nothing needs them."""
_BUFFERS: dict[str, dict[str, Any]] = {
    "uniform": {"type": "uniform", "has_dynamic_offset": True},
    "storage": {"type": "storage"},
    "read": {"type": "read-only-storage"},
}
_TEXTURES = {"texture": "float", "whole": "uint", "unfiltered": "unfilterable-float"}


class _NoPollThread:
    """Takes the place of the library's polling thread: hands out tokens, never polls."""

    def set_done(self) -> None:
        pass

    def is_done(self) -> bool:
        return True

    def get_token(self) -> _NoPollThread:
        return self

    def stop(self) -> None:
        pass


def _resource(one: Any) -> Any:
    if not isinstance(one, tuple):
        return one
    buffer, size = one
    return {"buffer": buffer, "offset": 0, "size": size or buffer.size}


class Gpu:
    """One device with its queue. Every call may raise DeviceLost.

    Shader modules, layouts and pipelines are made once and kept: the next job need not wait for
    them, nor one that follows on a job which was stopped while they were made.
    """

    def __init__(self, adapter: Any) -> None:
        import wgpu

        self._wgpu = wgpu
        limits = adapter.limits
        names = (
            "max-buffer-size",
            "max-storage-buffer-binding-size",
            "max-compute-workgroups-per-dimension",
        )
        self.features = WISHED_FEATURES & frozenset(adapter.features)
        try:
            self.device: GPUDevice = adapter.request_device_sync(
                required_features=sorted(self.features),
                required_limits={name: limits[name] for name in names},
            )
        except Exception as error:
            not_opened = VulkanReason.CARD_NOT_OPENED(words=str(error))
            raise EngineUnavailable(not_opened) from error
        self.largest_buffer_bytes = min(limits[names[0]], limits[names[1]])
        self.largest_groups = int(limits[names[2]])
        self._made: dict[tuple[Any, ...], Any] = {}
        self._queued = False
        self._lost = LostListener()
        logging.getLogger("wgpu").addHandler(self._lost)
        self._quiet = hasattr(self.device, "_poller") and hasattr(self.device, "_poll")
        if self._quiet:
            self.device._poller.stop()
            self.device._poller = _NoPollThread()

    def wake(self) -> None:
        """Have a kernel run that does nothing: a driver takes its time over the very first."""
        code = "@compute @workgroup_size(1) fn nothing() {}"
        module = self._once((code,), lambda: self.device.create_shader_module(code=code))
        pipeline = self.pipeline(module, "nothing", self.layout(()))
        staging, encoder = self.buffer(4, "MAP_READ", "COPY_DST"), self.encoder()
        work = encoder.begin_compute_pass()
        work.set_pipeline(pipeline)
        work.set_bind_group(0, self.group(self.layout(()), ()))
        work.dispatch_workgroups(1)
        work.end()
        encoder.clear_buffer(staging)
        self.submit(encoder)
        self.fetch(staging)
        staging.destroy()

    def idle(self) -> None:
        """Told to whoever watches where nothing is queued; raises StoppedBeforeLoad."""
        if self._queued and self._quiet:
            self._queued = not self.call(self._all_done)
        if not self._queued:
            idle()

    def _all_done(self) -> bool:
        """Have the library notice what is done; whether that is all that was queued."""
        backend = importlib.import_module("wgpu.backends.wgpu_native")
        # wgpu.h: WGPUBool wgpuDevicePoll(device, wait, submission): whether the queue is empty
        return bool(backend.lib.wgpuDevicePoll(self.device._internal, False, backend.ffi.NULL))

    def call(self, what: Call) -> Any:
        """Call into the library; its errors become OutOfCardMemory, DeviceLost or EngineError."""
        wgpu = self._wgpu
        try:
            answer = what()
        except (wgpu.GPUError, wgpu.GPUPipelineError, RuntimeError) as error:
            raise refused(error) from error
        if self._lost.words:
            raise lost(self._lost.words)
        return answer

    def buffer(self, size: int, *uses: str) -> Any:
        """A buffer of `size` bytes; raises OutOfCardMemory."""
        usage = 0
        for use in uses:
            usage |= getattr(self._wgpu.BufferUsage, use)
        self.idle()
        return self.call(lambda: self.device.create_buffer(size=size, usage=usage))

    def _once(self, key: tuple[Any, ...], make: Call) -> Any:
        if key not in self._made:
            self.idle()
            self._made[key] = self.call(make)
        return self._made[key]

    def module(self, *names: str, head: str = "") -> Any:
        """The shader module of `<name>.wgsl`, one after another, `head` put before their text."""
        folder = importlib.resources.files("burnin.engine.vulkan")
        texts = (folder.joinpath(f"{name}.wgsl").read_text(encoding="utf-8") for name in names)
        code = head + "".join(texts)
        return self._once((code,), lambda: self.device.create_shader_module(code=code))

    def layout(self, bindings: Iterable[str], *, draws: bool = False) -> Any:
        """Bind group layout of a kernel, or of what draws, by what each binding is.

        ``uniform`` (with a dynamic offset), ``storage``, ``read``; a ``texture`` that may be
        filtered, one ``unfiltered`` or of ``whole`` numbers, and a ``sampler``.
        """
        stage = self._wgpu.ShaderStage
        seen_by = stage.VERTEX | stage.FRAGMENT if draws else stage.COMPUTE
        bindings = tuple(bindings)
        entries: list[dict[str, Any]] = []
        for number, use in enumerate(bindings):
            entry: dict[str, Any] = {"binding": number, "visibility": seen_by}
            if use == "sampler":
                entry["sampler"] = {"type": "filtering"}
            elif use in _TEXTURES:
                entry["texture"] = {"sample_type": _TEXTURES[use]}
            else:
                entry["buffer"] = _BUFFERS[use]
            entries.append(entry)
        return self._once(
            (*bindings, draws), lambda: self.device.create_bind_group_layout(entries=entries)
        )

    def pipeline(
        self, module: Any, entry: str, layout: Any, constants: dict[str, float] | None = None
    ) -> Any:
        """A compute pipeline of one kernel."""
        constants = constants or {}
        key = (id(module), entry, id(layout), *sorted(constants.items()))  # both are kept as long
        return self._once(key, lambda: self.device.create_compute_pipeline(
            layout=self.device.create_pipeline_layout(bind_group_layouts=[layout]),
            compute={"module": module, "entry_point": entry, "constants": constants},
        ))

    def group(self, layout: Any, resources: Iterable[Any]) -> Any:
        """A bind group in binding order: (buffer, bytes), 0 bytes for all of it; or as it is."""
        entries = [{"binding": n, "resource": _resource(one)} for n, one in enumerate(resources)]
        return self.call(lambda: self.device.create_bind_group(layout=layout, entries=entries))

    def texture(self, side: int, form: str, *uses: str) -> Any:
        """A square texture without mips; raises OutOfCardMemory."""
        usage = 0
        for use in uses:
            usage |= getattr(self._wgpu.TextureUsage, use)
        self.idle()
        return self.call(lambda: self.device.create_texture(
            size=(side, side, 1), usage=usage, format=form
        ))

    def fill(self, texture: Any, data: bytes, side: int) -> None:
        """Write a square texture of four bytes a texel before the next submission."""
        to, layout = {"texture": texture}, {"bytes_per_row": side * 4, "rows_per_image": side}
        self.call(lambda: self.device.queue.write_texture(to, data, layout, (side, side, 1)))

    def sampler(self) -> Any:
        """One that filters between the four nearest texels."""
        linear = {"mag_filter": "linear", "min_filter": "linear"}
        return self._once(("sampler",), lambda: self.device.create_sampler(**linear))

    def drawing(
        self, module: Any, entries: tuple[str, str], layout: Any, target: dict[str, Any],
        constants: dict[str, float],
    ) -> Any:  # fmt: skip
        """A pipeline that draws triangles into one target, by its corner and its pixel kernel."""
        corners, pixels = entries
        key = (id(module), *entries, id(layout), target["format"], *sorted(constants.items()))
        return self._once(key, lambda: self.device.create_render_pipeline(
            layout=self.device.create_pipeline_layout(bind_group_layouts=[layout]),
            vertex={"module": module, "entry_point": corners},
            fragment={
                "module": module, "entry_point": pixels, "targets": [target],
                "constants": constants,
            },
            primitive={"topology": "triangle-list"},
        ))  # fmt: skip

    def encoder(self) -> Any:
        """A new command encoder."""
        return self.call(self.device.create_command_encoder)

    def submit(self, encoder: Any) -> None:
        """Hand the commands to the card; raises StoppedBeforeLoad where that may not be."""
        may_queue()
        self._queued = True
        self.call(lambda: self.device.queue.submit([encoder.finish()]))

    def upload(self, buffer: Any, data: Any, offset: int = 0) -> None:
        """Write host data before the next submission."""
        self.call(lambda: self.device.queue.write_buffer(buffer, offset, data))

    def mapped(self, buffer: Any) -> Any:
        """Wait until the last submission that writes `buffer` is done and map it for reading."""
        if not self._quiet:
            self.call(lambda: buffer.map_sync("READ"))
            self._queued = False  # it waits for all
            self.idle()
            return buffer
        promise = self.call(lambda: buffer.map_async("READ_NOSYNC"))
        while promise._state == "pending":
            self.call(lambda: self.device._poll(False))
            if promise._state == "pending":
                time.sleep(POLL_S)
        self.call(promise.sync_wait)
        self.idle()
        return buffer

    def fetch(self, buffer: Any, size: int | None = None) -> bytes:
        """Bytes of a mappable buffer, once the last submission that writes it is done."""
        self.mapped(buffer)
        data = bytes(buffer.read_mapped(0, size, copy=True))
        buffer.unmap()
        return data

    def download(self, source: Any, offset: int, size: int) -> bytes:
        """Copy `size` bytes (a multiple of 4) of a card buffer to the host and wait for it."""
        staging = self.buffer(size, "MAP_READ", "COPY_DST")
        encoder = self.encoder()
        encoder.copy_buffer_to_buffer(source, offset, staging, 0, size)
        self.submit(encoder)
        data = self.fetch(staging)
        staging.destroy()
        return data

    def close(self) -> None:
        """Let go of the device."""
        logging.getLogger("wgpu").removeHandler(self._lost)
        self.device.destroy()
