// Put before every kernel whose results repeat to the bit: how a result is kept.

typedef unsigned int word;
typedef unsigned long long wide;

#define STEPS 256
#define EXAMPLES 64
#define FIRST_PLACE 200
#define PLACES (56 * 32)

__device__ __forceinline__ word pcg(word value) {
  word state = value * 747796405u + 2891336453u;
  word mixed = ((state >> ((state >> 28) + 4)) ^ state) * 277803737u;
  return (mixed >> 22) ^ mixed;
}

// found: count, then (index, expected, got) of the first EXAMPLES
__device__ void note(word* found, word index, word expected, word got) {
  word slot = atomicAdd(found, 1u);
  if (slot >= EXAMPLES) return;
  found[1 + slot * 3] = index;
  found[2 + slot * 3] = expected;
  found[3 + slot * 3] = got;
}

__device__ __forceinline__ void keep(word* expected, word* found, word index, word value, int first,
                                     word plant_index, word plant_bits) {
  if (first) { expected[index] = value; return; }
  word got = index == plant_index ? value ^ plant_bits : value;
  word want = expected[index];
  if (got != want) note(found, index, want, got);
}

#define CHAIN_ARGUMENTS                                                                      \
  word *expected, word *found, word seed, int first, word plant_index, word plant_bits

