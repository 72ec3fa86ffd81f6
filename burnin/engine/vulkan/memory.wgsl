// Writing and checking of patterns. The words follow burnin/engine/patterns.py: `recipe`, `word`.
//
// A workgroup of 256 takes a block of 8 tiles; a tile is 256 vec4, 1,024 words, 4 KiB. Spans are
// whole tiles, so the test for the end is the same for a whole workgroup, and a full block has
// eight loads or stores in flight per invocation without any test between them.

struct Params {
  base_low: u32,      // word address of the span's first word, low half
  base_high: u32,     // and high half
  first_vec: u32,     // where the span begins in the bound buffer, in vec4
  tiles: u32,         // tiles to treat
  first_tile: u32,    // first of them, counted from the span's start
  tile_step: u32,     // distance to the next one; two's complement when descending
  first_span_tile: u32, // the span's first tile, counted from the slice's first tile
  capacity: u32,      // entries that the list of failing words holds
  expect_a: u32, expect_b: u32,
  write_a: u32, write_b: u32,
}

override kind: u32 = 0u;   // burnin.engine.patterns.RecipeKind

@group(0) @binding(0) var<uniform> params: Params;
@group(0) @binding(1) var<storage, read_write> area: array<vec4<u32>>;
@group(0) @binding(2) var<storage, read_write> counts: array<atomic<u32>, 64>;
@group(0) @binding(3) var<storage, read_write> listed: array<u32>;   // low, high, got
@group(0) @binding(4) var<storage, read_write> skipped: array<atomic<u32>>;  // one bit a tile

const FAILING = 0u;      // failing words seen
const SKIPPED = 1u;      // tiles left as they were, because the list was full
const BITS = 2u;         // 32 counts, one a bit lane
const TILE = 256u;
const BLOCK = 8u;

fn pcg(value: vec4<u32>) -> vec4<u32> {
  let state = value * 747796405u + 2891336453u;
  let mixed = ((state >> ((state >> vec4<u32>(28u)) + 4u)) ^ state) * 277803737u;
  return (mixed >> vec4<u32>(22u)) ^ mixed;
}

fn high_of(low: u32) -> u32 {
  return params.base_high + select(0u, 1u, low < params.base_low);
}

fn content(low: u32, a: u32, b: u32) -> vec4<u32> {
  if (kind == 0u) { return vec4<u32>(a, b, a, b); }
  let lows = vec4<u32>(low, low + 1u, low + 2u, low + 3u);
  if (kind == 1u) { return (vec4<u32>(1u) << ((lows + a) & vec4<u32>(31u))) ^ vec4<u32>(b); }
  let high = high_of(low);
  if (kind == 2u) { return lows ^ vec4<u32>((high * 0x9E3779B1u) ^ b); }
  return pcg(lows ^ pcg(vec4<u32>(high + a))) ^ vec4<u32>(b);
}

fn tile_at(number: u32) -> u32 { return params.first_tile + number * params.tile_step; }

fn vec_of(number: u32, lane: u32) -> u32 { return tile_at(number) * TILE + lane; }

fn low_of(vec: u32) -> u32 { return params.base_low + vec * 4u; }

fn list_word(low: u32, got: u32) {
  let slot = atomicAdd(&counts[FAILING], 1u);
  if (slot < params.capacity) {
    listed[slot * 3u] = low;
    listed[slot * 3u + 1u] = high_of(low);
    listed[slot * 3u + 2u] = got;
  }
}

fn list_vec(low: u32, got: vec4<u32>, wrong: vec4<u32>) {
  if (wrong.x != 0u) { list_word(low, got.x); }
  if (wrong.y != 0u) { list_word(low + 1u, got.y); }
  if (wrong.z != 0u) { list_word(low + 2u, got.z); }
  if (wrong.w != 0u) { list_word(low + 3u, got.w); }
}

fn block_of(group: vec3<u32>, groups: vec3<u32>) -> u32 {
  return (group.y * groups.x + group.x) * BLOCK;
}

fn write_block(first: u32, lane: u32) {
  let v0 = vec_of(first, lane);      let v1 = vec_of(first + 1u, lane);
  let v2 = vec_of(first + 2u, lane); let v3 = vec_of(first + 3u, lane);
  let v4 = vec_of(first + 4u, lane); let v5 = vec_of(first + 5u, lane);
  let v6 = vec_of(first + 6u, lane); let v7 = vec_of(first + 7u, lane);
  let a = params.write_a; let b = params.write_b; let at = params.first_vec;
  area[at + v0] = content(low_of(v0), a, b); area[at + v1] = content(low_of(v1), a, b);
  area[at + v2] = content(low_of(v2), a, b); area[at + v3] = content(low_of(v3), a, b);
  area[at + v4] = content(low_of(v4), a, b); area[at + v5] = content(low_of(v5), a, b);
  area[at + v6] = content(low_of(v6), a, b); area[at + v7] = content(low_of(v7), a, b);
}

@compute @workgroup_size(256)
fn write_pattern(
  @builtin(workgroup_id) group: vec3<u32>, @builtin(num_workgroups) groups: vec3<u32>,
  @builtin(local_invocation_index) lane: u32,
) {
  let first = block_of(group, groups);
  if (first + BLOCK <= params.tiles) {
    write_block(first, lane);
    return;
  }
  for (var t = first; t < params.tiles; t++) {
    let v = vec_of(t, lane);
    area[params.first_vec + v] = content(low_of(v), params.write_a, params.write_b);
  }
}

fn difference(vec: u32, got: vec4<u32>) -> vec4<u32> {
  return got ^ content(low_of(vec), params.expect_a, params.expect_b);
}

// What a full block holds, eight loads an invocation, all asked for before one is looked at.
struct Block { g0: vec4<u32>, g1: vec4<u32>, g2: vec4<u32>, g3: vec4<u32>,
               g4: vec4<u32>, g5: vec4<u32>, g6: vec4<u32>, g7: vec4<u32> }

fn read_block(first: u32, lane: u32) -> Block {
  let at = params.first_vec;
  let v0 = at + vec_of(first, lane);      let v1 = at + vec_of(first + 1u, lane);
  let v2 = at + vec_of(first + 2u, lane); let v3 = at + vec_of(first + 3u, lane);
  let v4 = at + vec_of(first + 4u, lane); let v5 = at + vec_of(first + 5u, lane);
  let v6 = at + vec_of(first + 6u, lane); let v7 = at + vec_of(first + 7u, lane);
  return Block(area[v0], area[v1], area[v2], area[v3], area[v4], area[v5], area[v6], area[v7]);
}

fn block_fails(g: Block, first: u32, lane: u32) -> bool {
  let v0 = vec_of(first, lane);      let v1 = vec_of(first + 1u, lane);
  let v2 = vec_of(first + 2u, lane); let v3 = vec_of(first + 3u, lane);
  let v4 = vec_of(first + 4u, lane); let v5 = vec_of(first + 5u, lane);
  let v6 = vec_of(first + 6u, lane); let v7 = vec_of(first + 7u, lane);
  let wrong = difference(v0, g.g0) | difference(v1, g.g1) | difference(v2, g.g2)
            | difference(v3, g.g3) | difference(v4, g.g4) | difference(v5, g.g5)
            | difference(v6, g.g6) | difference(v7, g.g7);
  return any(wrong != vec4<u32>(0u));
}

// Lists what is wrong in one vec4; false: the list is full.
fn list_difference(vec: u32, got: vec4<u32>) -> bool {
  let wrong = difference(vec, got);
  if (any(wrong != vec4<u32>(0u))) {
    if (atomicLoad(&counts[FAILING]) > params.capacity) { return false; }
    list_vec(low_of(vec), got, wrong);
  }
  return true;
}

// Lists every failing word, as it was read: a word that is right when it is read again was wrong
// all the same. Once the list is full an invocation ends early, so that a slice stays short however
// much fails; the count is then above the capacity and the span is split.
@compute @workgroup_size(256)
fn check_pattern(
  @builtin(workgroup_id) group: vec3<u32>, @builtin(num_workgroups) groups: vec3<u32>,
  @builtin(local_invocation_index) lane: u32,
) {
  let first = block_of(group, groups);
  if (first + BLOCK <= params.tiles) {
    let g = read_block(first, lane);
    if (!block_fails(g, first, lane)) { return; }
    var got = array<vec4<u32>, 8>(g.g0, g.g1, g.g2, g.g3, g.g4, g.g5, g.g6, g.g7);
    for (var k = 0u; k < BLOCK; k++) {
      if (!list_difference(vec_of(first + k, lane), got[k])) { return; }
    }
    return;
  }
  for (var t = first; t < params.tiles; t++) {
    let v = vec_of(t, lane);
    if (!list_difference(v, area[params.first_vec + v])) { return; }
  }
}

var<workgroup> shared_bits: array<atomic<u32>, 32>;
var<workgroup> shared_failing: atomic<u32>;

// Counts without listing: exact however much fails.
@compute @workgroup_size(256)
fn tally_pattern(
  @builtin(workgroup_id) group: vec3<u32>, @builtin(num_workgroups) groups: vec3<u32>,
  @builtin(local_invocation_index) lane: u32,
) {
  if (lane < 32u) { atomicStore(&shared_bits[lane], 0u); }
  if (lane == 32u) { atomicStore(&shared_failing, 0u); }
  workgroupBarrier();
  let first = block_of(group, groups);
  let last = min(params.tiles, first + BLOCK);
  for (var t = first; t < last; t++) {
    let v = vec_of(t, lane);
    let wrong = difference(v, area[params.first_vec + v]);
    if (any(wrong != vec4<u32>(0u))) {
      atomicAdd(&shared_failing, dot(select(vec4<u32>(0u), vec4<u32>(1u), wrong != vec4<u32>(0u)),
                                     vec4<u32>(1u)));
      for (var bit = 0u; bit < 32u; bit++) {
        let lanes = (wrong >> vec4<u32>(bit)) & vec4<u32>(1u);
        let sum = lanes.x + lanes.y + lanes.z + lanes.w;
        if (sum != 0u) { atomicAdd(&shared_bits[bit], sum); }
      }
    }
  }
  workgroupBarrier();
  if (lane < 32u) {
    let sum = atomicLoad(&shared_bits[lane]);
    if (sum != 0u) { atomicAdd(&counts[BITS + lane], sum); }
  }
  if (lane == 32u) {
    let sum = atomicLoad(&shared_failing);
    if (sum != 0u) { atomicAdd(&counts[FAILING], sum); }
  }
}

var<workgroup> tile_failing: atomic<u32>;
var<workgroup> tile_place: u32;
var<workgroup> block_failing: atomic<u32>;
var<workgroup> fails: u32;

// One tile of a march element, by the whole workgroup. A tile whose failing words do not fit into
// the list is left as it is and marked, so that the next round still finds them.
fn march_tile(t: u32, lane: u32, got: vec4<u32>) {
  let v = vec_of(t, lane);
  let wrong = difference(v, got);
  let mine = dot(select(vec4<u32>(0u), vec4<u32>(1u), wrong != vec4<u32>(0u)), vec4<u32>(1u));
  var offset = 0u;
  if (mine != 0u) { offset = atomicAdd(&tile_failing, mine); }
  workgroupBarrier();
  if (lane == 0u) {
    let found = atomicExchange(&tile_failing, 0u);
    tile_place = 0u;
    if (found != 0u) {
      tile_place = atomicAdd(&counts[FAILING], found);
      if (tile_place + found > params.capacity) {
        atomicSub(&counts[FAILING], found);
        atomicAdd(&counts[SKIPPED], 1u);
        let tile = params.first_span_tile + tile_at(t);
        atomicOr(&skipped[tile >> 5u], 1u << (tile & 31u));
        tile_place = 0xFFFFFFFFu;
      }
    }
  }
  let place = workgroupUniformLoad(&tile_place);
  if (place == 0xFFFFFFFFu) { return; }
  if (mine != 0u) {
    var slot = place + offset;
    let low = low_of(v);
    for (var k = 0u; k < 4u; k++) {
      if (wrong[k] != 0u) {
        listed[slot * 3u] = low + k;
        listed[slot * 3u + 1u] = high_of(low + k);
        listed[slot * 3u + 2u] = got[k];
        slot++;
      }
    }
  }
  area[params.first_vec + v] = content(low_of(v), params.write_a, params.write_b);
}

// A march element: read what was expected, write the next content. A block in which nothing is
// wrong is written as one; barriers between its tiles would leave memory idle.
@compute @workgroup_size(256)
fn check_then_write(
  @builtin(workgroup_id) group: vec3<u32>, @builtin(num_workgroups) groups: vec3<u32>,
  @builtin(local_invocation_index) lane: u32,
) {
  if (lane == 0u) {
    atomicStore(&tile_failing, 0u);
    atomicStore(&block_failing, 0u);
  }
  workgroupBarrier();
  let first = block_of(group, groups);
  if (first + BLOCK <= params.tiles) {
    let g = read_block(first, lane);
    if (block_fails(g, first, lane)) { atomicStore(&block_failing, 1u); }
    workgroupBarrier();
    if (lane == 0u) { fails = atomicLoad(&block_failing); }
    if (workgroupUniformLoad(&fails) == 0u) {
      write_block(first, lane);
      return;
    }
    var got = array<vec4<u32>, 8>(g.g0, g.g1, g.g2, g.g3, g.g4, g.g5, g.g6, g.g7);
    for (var k = 0u; k < BLOCK; k++) { march_tile(first + k, lane, got[k]); }
    return;
  }
  for (var t = first; t < params.tiles; t++) {
    march_tile(t, lane, area[params.first_vec + vec_of(t, lane)]);
  }
}
