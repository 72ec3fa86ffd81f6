// Workgroup memory and its atomics, as burnin/engine/device/reference_units.py computes them.

const WORDS = 4096u;
const LANES = 256u;
const EACH = WORDS / LANES;
const TURNS = 32u;

var<workgroup> words: array<u32, WORDS>;

// A stride of 17 words: lanes that work at once read from all banks, whatever power of two they are.
@compute @workgroup_size(256)
fn workgroup_memory(
  @builtin(global_invocation_id) id: vec3<u32>, @builtin(local_invocation_index) lane: u32
) {
  var x = pcg(id.x ^ params.seed);
  for (var k = 0u; k < EACH; k++) { words[k * LANES + lane] = pcg(x + k); }
  workgroupBarrier();
  for (var turn = 0u; turn < TURNS; turn++) {
    for (var k = 0u; k < EACH; k++) {
      x = pcg(x ^ words[(lane * 17u + turn * 271u + k * 1103u) % WORDS]);
    }
    workgroupBarrier();
    words[(lane + turn * 37u) % LANES + LANES * (turn % EACH)] = x;
    workgroupBarrier();
  }
  keep(id.x, x);
}

var<workgroup> shared_words: array<atomic<u32>, LANES>;

// Sums, exclusive ors and maxima do not depend on who comes first; each turn does one of them.
@compute @workgroup_size(256)
fn atomics(
  @builtin(global_invocation_id) id: vec3<u32>, @builtin(local_invocation_index) lane: u32
) {
  var x = pcg(id.x ^ params.seed);
  atomicStore(&shared_words[lane], x);
  workgroupBarrier();
  for (var turn = 0u; turn < TURNS; turn++) {
    let place = (x >> 8u) % LANES;
    switch (turn % 3u) {
      case 0u: { atomicAdd(&shared_words[place], x); }
      case 1u: { atomicXor(&shared_words[place], x); }
      default: { atomicMax(&shared_words[place], x); }
    }
    workgroupBarrier();
    x = pcg(x ^ atomicLoad(&shared_words[lane]));
    workgroupBarrier();
  }
  keep(id.x, x);
}
