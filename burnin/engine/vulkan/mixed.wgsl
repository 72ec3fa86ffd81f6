// Work that draws most power: workgroups of two roles in one dispatch. Every `stream_of`-th one moves
// card memory while its multiply-adds run; the others keep multiply-adds and workgroup memory busy
// alone. Measured: one role that does all in a thread draws less, for its parts wait for each other.
//
// Each round begins anew, so its results are the same in every round and every workgroup of a role,
// and are compared to the bit. Memory that is moved holds words that follow from their place.
//
// `Half` is put before this text: f16 where the card has it, f32 where it has not.

struct Params {
  rounds: u32,
  first: u32,       // 1: this dispatch sets what all others must equal
  round: u32,       // number of its first round: which memory is moved
  slots: u32,       // pieces of ACCESSES x 256 vec4 in the memory
  results: u32,     // where the expected results of this mix begin
}

override stream_of: u32 = 2u;  // of so many workgroups one streams
override singles: u32 = 2u;    // steps of four fp32 chains beside each access to memory
override halves: u32 = 2u;     // steps of four half chains beside each access
override shares: u32 = 1u;     // reads of workgroup memory beside each access
override alone: u32 = 4u;      // steps of the others, each with a read of workgroup memory

@group(0) @binding(0) var<uniform> params: Params;
@group(0) @binding(1) var<storage, read_write> source: array<vec4<u32>>;
@group(0) @binding(2) var<storage, read_write> target_words: array<vec4<u32>>;
@group(0) @binding(3) var<storage, read_write> expected: array<vec2<u32>>;  // (chains, words), 512 a mix
@group(0) @binding(4) var<storage, read_write> wrong_results: atomic<u32>;

const LANES = 256u;
const ACCESSES = 16u;
const STRIDE = 33u;  // from one read of workgroup memory to the next: other banks each time

var<workgroup> tile: array<vec4<u32>, 256>;

fn content(vec: u32) -> vec4<u32> {
  return (vec4<u32>(vec * 4u) + vec4<u32>(0u, 1u, 2u, 3u)) * 0x9E3779B1u;
}

struct Singles { x0: vec4<f32>, x1: vec4<f32>, x2: vec4<f32>, x3: vec4<f32> }
struct Halves { x0: vec4<Half>, x1: vec4<Half>, x2: vec4<Half>, x3: vec4<Half> }

// Just below 1 and negative: values stay bounded, do not settle, and most bits change at each step.
fn step_singles(v: Singles) -> Singles {
  let a = vec4<f32>(-0.99951, -0.99943, -0.99962, -0.99937);
  let b = vec4<f32>(1.3717, 1.7131, 1.1373, 1.3177);
  return Singles(fma(v.x0, a, b), fma(v.x1, a, b), fma(v.x2, a, b), fma(v.x3, a, b));
}

fn step_halves(v: Halves) -> Halves {
  let a = vec4<Half>(-0.9995, -0.999, -0.9985, -0.998);
  let b = vec4<Half>(1.3717, 1.7131, 1.1373, 1.3177);
  return Halves(fma(v.x0, a, b), fma(v.x1, a, b), fma(v.x2, a, b), fma(v.x3, a, b));
}

fn bits_of(s: Singles, h: Halves) -> u32 {
  let single = bitcast<vec4<u32>>(s.x0) ^ (bitcast<vec4<u32>>(s.x1) * 3u)
             ^ (bitcast<vec4<u32>>(s.x2) * 5u) ^ (bitcast<vec4<u32>>(s.x3) * 7u);
  let half = bitcast<vec4<u32>>(vec4<f32>(h.x0)) ^ (bitcast<vec4<u32>>(vec4<f32>(h.x1)) * 3u)
           ^ (bitcast<vec4<u32>>(vec4<f32>(h.x2)) * 5u) ^ (bitcast<vec4<u32>>(vec4<f32>(h.x3)) * 7u);
  let both = single ^ (half * 11u);
  return both.x ^ (both.y * 13u) ^ (both.z * 17u) ^ (both.w * 19u);
}

fn folded(words: vec4<u32>) -> u32 {
  return words.x ^ (words.y * 3u) ^ (words.z * 5u) ^ (words.w * 7u);
}

@compute @workgroup_size(256)
fn work(
  @builtin(workgroup_id) group: vec3<u32>, @builtin(num_workgroups) groups: vec3<u32>,
  @builtin(local_invocation_index) lane: u32,
) {
  tile[lane] = content(lane);
  workgroupBarrier();
  let number = group.y * groups.x + group.x;
  let streams = number % stream_of == 0u;
  let streamer = number / stream_of;
  let streamers = (groups.x * groups.y + stream_of - 1u) / stream_of;
  let place = params.results + lane + select(LANES, 0u, streams);
  let start = 0.5 + f32(lane) * 0.001;
  var wrong = 0u;
  for (var round = 0u; round < params.rounds; round++) {
    let low = vec4<f32>(start) + vec4<f32>(0.1, 0.2, 0.3, 0.4);
    var s = Singles(low, low + 0.5, low + 0.6, low + 0.7);
    let half = vec4<Half>(low);
    var h = Halves(half, half + vec4<Half>(0.5), half + vec4<Half>(0.25), half + vec4<Half>(0.75));
    var words = vec4<u32>(0u);
    var moved = vec4<u32>(0u);
    if (streams) {
      let slot = (streamer + (params.round + round) * streamers) % params.slots;
      for (var access = 0u; access < ACCESSES; access++) {
        let at = (slot * ACCESSES + access) * LANES + lane;
        let got = source[at];
        for (var step = 0u; step < singles; step++) { s = step_singles(s); }
        for (var step = 0u; step < halves; step++) { h = step_halves(h); }
        for (var step = 0u; step < shares; step++) {
          words += tile[(lane + (access * shares + step) * STRIDE) & 255u];
        }
        target_words[at] = got;
        moved |= got ^ content(at);
      }
    } else {
      for (var step = 0u; step < ACCESSES * alone; step++) {
        s = step_singles(s);
        words += tile[(lane + step * STRIDE) & 255u];
      }
    }
    let result = vec2<u32>(bits_of(s, h), folded(words));
    if (params.first == 1u) { expected[place] = result; }
    else if (any(result != expected[place]) || any(moved != vec4<u32>(0u))) { wrong++; }
  }
  if (wrong != 0u) { atomicAdd(&wrong_results, wrong); }
}

@compute @workgroup_size(256)
fn lay_out(
  @builtin(workgroup_id) group: vec3<u32>, @builtin(num_workgroups) groups: vec3<u32>,
  @builtin(local_invocation_index) lane: u32,
) {
  for (var slot = group.x; slot < params.slots; slot += groups.x) {
    for (var access = 0u; access < ACCESSES; access++) {
      let at = (slot * ACCESSES + access) * LANES + lane;
      source[at] = content(at);
    }
  }
}
