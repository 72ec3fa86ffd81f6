// Results that repeat to the bit. The chains are those of burnin/engine/reference.py.

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

@compute @workgroup_size(256)
fn integer_chain(@builtin(global_invocation_id) id: vec3<u32>) {
  var x = pcg(id.x ^ params.seed);
  for (var step = 0u; step < STEPS; step++) { x = pcg(x + step); }
  keep(id.x, x);
}

// Every product and sum is a whole number below 2^24 or a power-of-two multiple of one: exact in
// fp32 whether or not multiply and add are fused.
@compute @workgroup_size(256)
fn exact_chain(@builtin(global_invocation_id) id: vec3<u32>) {
  var state = f32(pcg(id.x ^ params.seed) & 4095u);
  var sum = 0.0;
  for (var step = 0u; step < STEPS; step++) {
    let wide = fma(state, 2029.0, 1013.0);
    state = fma(floor(wide * 0.000244140625), -4096.0, wide);
    sum = sum + state;
  }
  keep(id.x, bitcast<u32>(sum) ^ u32(state));
}

// A chaotic map: an error in the last place of any step shows in every bit of the result. What it
// rounds to is the card's own affair, but it must be the same every time.
@compute @workgroup_size(256)
fn rounded_chain(@builtin(global_invocation_id) id: vec3<u32>) {
  var x = f32((pcg(id.x ^ params.seed) >> 9u) | 1u) * 0.00000011920928955078125;
  for (var step = 0u; step < STEPS; step++) { x = 3.9375 * fma(-x, x, x); }
  keep(id.x, bitcast<u32>(x));
}
