// Words from the card's memory into the host's, by few threads.
//
// A copy engine that reads much memory takes the cache from matrix products beside it; loads and
// stores that are kept in no cache leave it to them.

typedef unsigned long long wide;

#define AT_ONCE 4

extern "C" __global__ void __launch_bounds__(512)
put(uint4* host, const uint4* card, wide vectors) {
  wide step = (wide)gridDim.x * blockDim.x;
  wide at = (wide)blockIdx.x * blockDim.x + threadIdx.x;
  for (; at + (AT_ONCE - 1) * step < vectors; at += AT_ONCE * step) {
    uint4 words[AT_ONCE];
#pragma unroll
    for (int k = 0; k < AT_ONCE; k++) words[k] = __ldcs(card + at + k * step);
#pragma unroll
    for (int k = 0; k < AT_ONCE; k++) __stcs(host + at + k * step, words[k]);
  }
  for (; at < vectors; at += step) __stcs(host + at, __ldcs(card + at));
}
