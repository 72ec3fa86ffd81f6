// Writing and checking of patterns. The words follow burnin/engine/patterns.py: `recipe`, `word`.
//
// A block of 256 threads takes TILES tiles; a tile is 256 vectors of 16 bytes, 1,024 words, 4 KiB.
// Spans are whole tiles, so a full block needs no test between its loads or stores, and has TILES
// of them in flight per thread. Neither kernel keeps what it touches in the cache.

#ifndef TILES
#define TILES 8
#endif

typedef unsigned int word;
typedef unsigned long long wide;

struct Span {
  uint4* area;        // first vector of the span
  wide base;          // word address of the span's first word
  wide tiles;         // tiles to treat
  wide first_tile;    // first of them, counted from the span's start
  long long step;     // distance to the next one, negative when descending
  wide marked_from;   // the span's first tile, counted from the slice's first tile
};

struct Found {
  word* counts;       // 0: failing words, 1: skipped tiles, 2 to 33: by bit lane
  ulonglong2* listed; // word address, content
  word* skipped;      // one bit a tile
  word capacity;      // entries of `listed`
};

__device__ __forceinline__ word pcg(word value) {
  word state = value * 747796405u + 2891336453u;
  word mixed = ((state >> ((state >> 28) + 4)) ^ state) * 277803737u;
  return (mixed >> 22) ^ mixed;
}

template <int KIND>
__device__ __forceinline__ uint4 content(wide address, word a, word b) {
  word low = (word)address;
  if (KIND == 0) return make_uint4(a, b, a, b);
  if (KIND == 1) {
    word at = low + a;
    return make_uint4((1u << (at & 31)) ^ b, (1u << ((at + 1) & 31)) ^ b,
                      (1u << ((at + 2) & 31)) ^ b, (1u << ((at + 3) & 31)) ^ b);
  }
  word high = (word)(address >> 32);
  if (KIND == 2) {
    word fold = (high * 0x9E3779B1u) ^ b;
    return make_uint4(low ^ fold, (low + 1) ^ fold, (low + 2) ^ fold, (low + 3) ^ fold);
  }
  word key = pcg(high + a);
  return make_uint4(pcg(low ^ key) ^ b, pcg((low + 1) ^ key) ^ b,
                    pcg((low + 2) ^ key) ^ b, pcg((low + 3) ^ key) ^ b);
}

__device__ __forceinline__ wide vector_at(const Span& s, wide number) {
  return (s.first_tile + (wide)((long long)number * s.step)) * 256 + threadIdx.x;
}

template <int KIND>
__device__ __forceinline__ void write_body(Span s, word a, word b) {
  wide first = (wide)blockIdx.x * TILES;
  if (first + TILES <= s.tiles) {
#pragma unroll
    for (int t = 0; t < TILES; t++) {
      wide v = vector_at(s, first + t);
      __stcs(s.area + v, content<KIND>(s.base + v * 4, a, b));
    }
    return;
  }
  for (wide t = first; t < s.tiles; t++) {
    wide v = vector_at(s, t);
    s.area[v] = content<KIND>(s.base + v * 4, a, b);
  }
}

template <int KIND>
__device__ __forceinline__ uint4 difference(wide address, uint4 got, word a, word b) {
  uint4 want = content<KIND>(address, a, b);
  return make_uint4(got.x ^ want.x, got.y ^ want.y, got.z ^ want.z, got.w ^ want.w);
}

__device__ __forceinline__ word any_of(uint4 d) { return d.x | d.y | d.z | d.w; }

__device__ void list_word(const Found& f, wide address, word got) {
  word slot = atomicAdd(f.counts, 1u);
  if (slot < f.capacity) f.listed[slot] = make_ulonglong2(address, got);
}

// The slow path: only blocks that saw a failing word come here. Once the list is full a thread
// ends early, so that a slice stays short however much fails.
template <int KIND>
__device__ __noinline__ void list_block(Span s, Found f, word a, word b, wide first, wide last) {
  for (wide t = first; t < last; t++) {
    wide v = vector_at(s, t);
    wide address = s.base + v * 4;
    uint4 got = s.area[v];
    uint4 wrong = difference<KIND>(address, got, a, b);
    if (!any_of(wrong)) continue;
    if (*(volatile word*)f.counts > f.capacity) return;
    if (wrong.x) list_word(f, address, got.x);
    if (wrong.y) list_word(f, address + 1, got.y);
    if (wrong.z) list_word(f, address + 2, got.z);
    if (wrong.w) list_word(f, address + 3, got.w);
  }
}

template <int KIND>
__device__ __forceinline__ void check_body(Span s, Found f, word a, word b) {
  wide first = (wide)blockIdx.x * TILES;
  if (first + TILES <= s.tiles) {
    long long stride = s.step * 256;
    wide v = vector_at(s, first);
    const uint4* from = s.area + v;
    uint4 got[TILES];
#pragma unroll
    for (int t = 0; t < TILES; t++) got[t] = __ldcs(from + t * stride);
    wide address = s.base + v * 4;
    word wrong = 0;
#pragma unroll
    for (int t = 0; t < TILES; t++) {
      wrong |= any_of(difference<KIND>(address + t * stride * 4, got[t], a, b));
    }
    if (!wrong) return;
    list_block<KIND>(s, f, a, b, first, first + TILES);
    return;
  }
  list_block<KIND>(s, f, a, b, first, s.tiles);
}

__device__ __forceinline__ word failing_in(uint4 d) {
  return (d.x != 0) + (d.y != 0) + (d.z != 0) + (d.w != 0);
}

// Counts without listing: exact however much fails.
template <int KIND>
__device__ __forceinline__ void tally_body(Span s, Found f, word a, word b) {
  __shared__ word sums[33];
  if (threadIdx.x < 33) sums[threadIdx.x] = 0;
  __syncthreads();
  wide first = (wide)blockIdx.x * TILES;
  wide last = first + TILES < s.tiles ? first + TILES : s.tiles;
  for (wide t = first; t < last; t++) {
    wide v = vector_at(s, t);
    uint4 d = difference<KIND>(s.base + v * 4, __ldcs(s.area + v), a, b);
    if (!any_of(d)) continue;
    atomicAdd(&sums[32], failing_in(d));
    for (int bit = 0; bit < 32; bit++) {
      word sum = ((d.x >> bit) & 1) + ((d.y >> bit) & 1) + ((d.z >> bit) & 1) + ((d.w >> bit) & 1);
      if (sum) atomicAdd(&sums[bit], sum);
    }
  }
  __syncthreads();
  if (threadIdx.x < 32 && sums[threadIdx.x]) atomicAdd(f.counts + 2 + threadIdx.x, sums[threadIdx.x]);
  if (threadIdx.x == 32 && sums[32]) atomicAdd(f.counts, sums[32]);
}

// A march element: read what was expected, write the next content. A tile whose failing words do
// not fit into the list is left as it is and marked, so that the next round still finds them.
template <int KIND>
__device__ __forceinline__ void march_body(Span s, Found f, word a, word b, word new_a, word new_b) {
  __shared__ word tile_failing;
  __shared__ word tile_place;
  wide first = (wide)blockIdx.x * TILES;
  wide last = first + TILES < s.tiles ? first + TILES : s.tiles;
  for (wide t = first; t < last; t++) {
    wide v = vector_at(s, t);
    wide address = s.base + v * 4;
    uint4 got = __ldcs(s.area + v);
    uint4 wrong = difference<KIND>(address, got, a, b);
    if (!__syncthreads_or(any_of(wrong))) {
      __stcs(s.area + v, content<KIND>(address, new_a, new_b));
      continue;
    }
    if (threadIdx.x == 0) tile_failing = 0;
    __syncthreads();
    word mine = failing_in(wrong);
    word offset = mine ? atomicAdd(&tile_failing, mine) : 0;
    __syncthreads();
    if (threadIdx.x == 0) {
      tile_place = atomicAdd(f.counts, tile_failing);
      if (tile_place + tile_failing > f.capacity) {
        atomicSub(f.counts, tile_failing);
        atomicAdd(f.counts + 1, 1u);
        wide tile = s.marked_from + v / 256;
        atomicOr(f.skipped + (tile >> 5), 1u << (tile & 31));
        tile_place = 0xFFFFFFFFu;
      }
    }
    __syncthreads();
    if (tile_place != 0xFFFFFFFFu) {
      word slot = tile_place + offset;
      if (wrong.x) f.listed[slot++] = make_ulonglong2(address, got.x);
      if (wrong.y) f.listed[slot++] = make_ulonglong2(address + 1, got.y);
      if (wrong.z) f.listed[slot++] = make_ulonglong2(address + 2, got.z);
      if (wrong.w) f.listed[slot++] = make_ulonglong2(address + 3, got.w);
      s.area[v] = content<KIND>(address, new_a, new_b);
    }
    __syncthreads();
  }
}

#define SPAN_ARGUMENTS                                                                       \
  uint4 *area, wide base, wide tiles, wide first_tile, long long step, wide marked_from
#define FOUND_ARGUMENTS word *counts, ulonglong2 *listed, word *skipped, word capacity
#define SPAN Span{area, base, tiles, first_tile, step, marked_from}
#define FOUND Found{counts, listed, skipped, capacity}

#define KERNELS(KIND)                                                                         \
  extern "C" __global__ void __launch_bounds__(256)                                           \
  write_pattern_##KIND(SPAN_ARGUMENTS, FOUND_ARGUMENTS, word a, word b, word new_a,           \
                       word new_b) { write_body<KIND>(SPAN, new_a, new_b); }                  \
  /* 5 blocks a processor leave enough registers to keep every load of a thread in flight */   \
  extern "C" __global__ void __launch_bounds__(256, 5)                                        \
  check_pattern_##KIND(SPAN_ARGUMENTS, FOUND_ARGUMENTS, word a, word b, word new_a,           \
                       word new_b) { check_body<KIND>(SPAN, FOUND, a, b); }                   \
  extern "C" __global__ void __launch_bounds__(256)                                           \
  tally_pattern_##KIND(SPAN_ARGUMENTS, FOUND_ARGUMENTS, word a, word b, word new_a,           \
                       word new_b) { tally_body<KIND>(SPAN, FOUND, a, b); }                   \
  extern "C" __global__ void __launch_bounds__(256)                                           \
  check_then_write_##KIND(SPAN_ARGUMENTS, FOUND_ARGUMENTS, word a, word b, word new_a,        \
                          word new_b) { march_body<KIND>(SPAN, FOUND, a, b, new_a, new_b); }

KERNELS(0)
KERNELS(1)
KERNELS(2)
KERNELS(3)

// Only reads, as fast as a kernel can: the ceiling that the check is measured against.
extern "C" __global__ void __launch_bounds__(256) read_only(const uint4* area, wide tiles, word* sink) {
  wide first = (wide)blockIdx.x * TILES;
  if (first + TILES > tiles) return;
  uint4 got[TILES];
#pragma unroll
  for (int t = 0; t < TILES; t++) got[t] = __ldcs(area + (first + t) * 256 + threadIdx.x);
  word all = 0;
#pragma unroll
  for (int t = 0; t < TILES; t++) all ^= got[t].x ^ got[t].y ^ got[t].z ^ got[t].w;
  if (all == 0xA5A5A5A5u) *sink = all;
}
