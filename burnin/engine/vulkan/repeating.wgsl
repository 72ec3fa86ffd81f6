// Put before every kernel whose results repeat to the bit: what it is told, and how a result is kept.

struct Params {
  seed: u32,
  first: u32,        // 1: this repeat sets what all others must equal
  plant_index: u32,  // result that is disturbed on purpose
  plant_bits: u32,   // bits flipped in it, 0: none
}

@group(0) @binding(0) var<uniform> params: Params;
@group(0) @binding(1) var<storage, read_write> expected: array<u32>;
@group(0) @binding(2) var<storage, read_write> found: array<atomic<u32>, 256>;  // count, then (index, expected, got)

const STEPS = 256u;
const EXAMPLES = 64u;

fn pcg(value: u32) -> u32 {
  let state = value * 747796405u + 2891336453u;
  let mixed = ((state >> ((state >> 28u) + 4u)) ^ state) * 277803737u;
  return (mixed >> 22u) ^ mixed;
}

fn keep(index: u32, value: u32) {
  if (index >= arrayLength(&expected)) { return; }
  if (params.first == 1u) { expected[index] = value; return; }
  let got = value ^ select(0u, params.plant_bits, index == params.plant_index);
  let want = expected[index];
  if (got != want) {
    let slot = atomicAdd(&found[0], 1u);
    if (slot < EXAMPLES) {
      atomicStore(&found[1u + slot * 3u], index);
      atomicStore(&found[2u + slot * 3u], want);
      atomicStore(&found[3u + slot * 3u], got);
    }
  }
}
