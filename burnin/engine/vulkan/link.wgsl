// Link traffic: blocks in host memory that the card itself reads, checks and writes.
//
// Words are numbered along one endless stream (burnin/engine/vulkan/link_kernels.py), and each word
// follows from its number and a key: pcg(low ^ pcg(high + a)) ^ b, as in burnin/engine/device/
// recipes.py. No two blocks of a stream are alike, so a block that did not arrive is found.
//
// A workgroup of 256 takes a tile of 4 x 256 vec4 (16 KiB), then the tile a whole grid further: four
// loads in flight per invocation, neighbours side by side.

struct Params {
  read_low: u32, read_high: u32,     // stream number of the first word that is read, two halves
  read_vec: u32,                     // where it lies in the ring, in vec4
  write_low: u32, write_high: u32,   // the same of the first word that is written
  write_vec: u32,
  vecs: u32,                         // vec4 to treat, whole tiles
  ring_vecs: u32,                    // vec4 in the ring; what goes past its end goes on at its start
  a: u32, b: u32,
}

@group(0) @binding(0) var<uniform> params: Params;
@group(0) @binding(1) var<storage, read_write> ring: array<vec4<u32>>;
@group(0) @binding(2) var<storage, read_write> wrong_words: atomic<u32>;

const LANES = 256u;
const TILE = 1024u;

fn pcg(value: vec4<u32>) -> vec4<u32> {
  let state = value * 747796405u + 2891336453u;
  let mixed = ((state >> ((state >> vec4<u32>(28u)) + 4u)) ^ state) * 277803737u;
  return (mixed >> vec4<u32>(22u)) ^ mixed;
}

// The four words `vec` vec4 after the stream number (base_low, base_high).
fn content(base_low: u32, base_high: u32, vec: u32) -> vec4<u32> {
  let low = base_low + vec * 4u;
  let high = base_high + select(0u, 1u, low < base_low);
  let lows = vec4<u32>(low, low + 1u, low + 2u, low + 3u);
  return pcg(lows ^ pcg(vec4<u32>(high + params.a))) ^ vec4<u32>(params.b);
}

fn in_ring(vec: u32) -> u32 { return select(vec, vec - params.ring_vecs, vec >= params.ring_vecs); }

fn read_from(vec: u32) -> vec4<u32> { return ring[in_ring(params.read_vec + vec)]; }

fn fill_at(vec: u32) {
  ring[in_ring(params.write_vec + vec)] = content(params.write_low, params.write_high, vec);
}

fn wrong_in(got: vec4<u32>, vec: u32) -> u32 {
  let wrong = got != content(params.read_low, params.read_high, vec);
  return dot(select(vec4<u32>(0u), vec4<u32>(1u), wrong), vec4<u32>(1u));
}

// Four vec4 an invocation, a workgroup's width apart: all are asked for before one is looked at.
struct Four { a: vec4<u32>, b: vec4<u32>, c: vec4<u32>, d: vec4<u32> }

fn read_four(v: u32) -> Four {
  return Four(read_from(v), read_from(v + LANES), read_from(v + 2u * LANES), read_from(v + 3u * LANES));
}

fn fill_four(v: u32) {
  fill_at(v); fill_at(v + LANES); fill_at(v + 2u * LANES); fill_at(v + 3u * LANES);
}

fn wrong_in_four(got: Four, v: u32) -> u32 {
  return wrong_in(got.a, v) + wrong_in(got.b, v + LANES)
       + wrong_in(got.c, v + 2u * LANES) + wrong_in(got.d, v + 3u * LANES);
}

fn tell(wrong: u32) { if (wrong != 0u) { atomicAdd(&wrong_words, wrong); } }

// Reads every word over the link and compares it as it arrives.
@compute @workgroup_size(256)
fn check_blocks(
  @builtin(workgroup_id) group: vec3<u32>, @builtin(num_workgroups) groups: vec3<u32>,
  @builtin(local_invocation_index) lane: u32,
) {
  var wrong = 0u;
  for (var v = group.x * TILE + lane; v < params.vecs; v += groups.x * TILE) {
    wrong += wrong_in_four(read_four(v), v);
  }
  tell(wrong);
}

@compute @workgroup_size(256)
fn fill_blocks(
  @builtin(workgroup_id) group: vec3<u32>, @builtin(num_workgroups) groups: vec3<u32>,
  @builtin(local_invocation_index) lane: u32,
) {
  for (var v = group.x * TILE + lane; v < params.vecs; v += groups.x * TILE) { fill_four(v); }
}

// Both ways at once: blocks that came down in the slices before are read and checked while the next
// ones go down. The two stretches of the ring never overlap.
@compute @workgroup_size(256)
fn check_and_fill(
  @builtin(workgroup_id) group: vec3<u32>, @builtin(num_workgroups) groups: vec3<u32>,
  @builtin(local_invocation_index) lane: u32,
) {
  var wrong = 0u;
  for (var v = group.x * TILE + lane; v < params.vecs; v += groups.x * TILE) {
    let got = read_four(v);
    fill_four(v);
    wrong += wrong_in_four(got, v);
  }
  tell(wrong);
}
