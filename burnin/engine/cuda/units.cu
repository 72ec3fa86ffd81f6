// Units beside the chains, as burnin/engine/device/reference_units.py computes them.

#define LANES 256
#define WORDS 4096
#define EACH (WORDS / LANES)
#define TURNS 32

// Which of the card's processors a block ran on is noted behind the examples.
__device__ __forceinline__ void note_place(word* found) {
  if (threadIdx.x) return;
  word place;
  asm volatile("mov.u32 %0, %%smid;" : "=r"(place));
  if (place < PLACES) atomicOr(found + FIRST_PLACE + (place >> 5), 1u << (place & 31u));
}

// A stride of 17 words: threads that work at once read from all banks.
extern "C" __global__ void __launch_bounds__(256) workgroup_memory(CHAIN_ARGUMENTS) {
  __shared__ word words[WORDS];
  word lane = threadIdx.x, index = blockIdx.x * LANES + lane;
  note_place(found);
  word x = pcg(index ^ seed);
  for (word k = 0; k < EACH; k++) words[k * LANES + lane] = pcg(x + k);
  __syncthreads();
  for (word turn = 0; turn < TURNS; turn++) {
#pragma unroll
    for (word k = 0; k < EACH; k++)
      x = pcg(x ^ words[(lane * 17u + turn * 271u + k * 1103u) % WORDS]);
    __syncthreads();
    words[(lane + turn * 37u) % LANES + LANES * (turn % EACH)] = x;
    __syncthreads();
  }
  keep(expected, found, index, x, first, plant_index, plant_bits);
}

// Sums, exclusive ors and maxima do not depend on who comes first; each turn does one of them.
extern "C" __global__ void __launch_bounds__(256) atomics(CHAIN_ARGUMENTS) {
  __shared__ word words[LANES];
  word lane = threadIdx.x, index = blockIdx.x * LANES + lane;
  note_place(found);
  word x = pcg(index ^ seed);
  words[lane] = x;
  __syncthreads();
  for (word turn = 0; turn < TURNS; turn++) {
    word* place = words + (x >> 8) % LANES;
    if (turn % 3 == 0) atomicAdd(place, x);
    else if (turn % 3 == 1) atomicXor(place, x);
    else atomicMax(place, x);
    __syncthreads();
    x = pcg(x ^ words[lane]);
    __syncthreads();
  }
  keep(expected, found, index, x, first, plant_index, plant_bits);
}

// Four products of bytes and their sum in one instruction, exact in 32 bits.
extern "C" __global__ void __launch_bounds__(256) int8_dot(CHAIN_ARGUMENTS) {
  word index = blockIdx.x * LANES + threadIdx.x;
  note_place(found);
  word x = pcg(index ^ seed), sum = 0;
#pragma unroll 8
  for (word step = 0; step < STEPS; step++) {
    word signed_sum, other = x * 2654435769u + step;
    asm("dp4a.s32.s32 %0, %1, %2, %3;" : "=r"(signed_sum) : "r"(x), "r"(other), "r"(0));
    asm("dp4a.u32.u32 %0, %1, %2, %3;" : "=r"(sum) : "r"(x), "r"(sum), "r"(signed_sum + sum));
    x = x * 747796405u + sum;
  }
  keep(expected, found, index, sum ^ x, first, plant_index, plant_bits);
}

// Whole numbers below 2^53 in double precision: exact (IEEE 754-2019, 3.3: 53 bits of precision).
extern "C" __global__ void __launch_bounds__(256) double_chain(CHAIN_ARGUMENTS) {
  word index = blockIdx.x * LANES + threadIdx.x;
  note_place(found);
  double state = (double)(pcg(index ^ seed) & 16777215u), sum = 0.0;
#pragma unroll 8
  for (word step = 0; step < STEPS; step++) {
    double big = fma(state, 22695477.0, 12345.0);
    state = fma(floor(big * 5.9604644775390625e-8), -16777216.0, big);
    sum += state;
  }
  double high = floor(sum * 5.9604644775390625e-8);
  word low = (word)fma(high, -16777216.0, sum);
  keep(expected, found, index, (low ^ ((word)high << 24)) ^ (word)state, first, plant_index,
       plant_bits);
}

// Functions whose last places are the card's own affair: even results are one value as it came, to
// be held against the bounds that the programming guide states; odd ones fold 256 values.
__device__ __forceinline__ float value_of(word kind, float x) {
  switch (kind) {
    case 0: return sinf(fmaf(x, 6.25f, -3.125f));
    case 1: return cosf(fmaf(x, 6.25f, -3.125f));
    case 2: return exp2f(fmaf(x, 16.0f, -8.0f));
    case 3: return log2f(fmaf(x, 64.0f, 0.015625f));
    case 4: return rsqrtf(fmaf(x, 64.0f, 0.015625f));
    default: return sqrtf(fmaf(x, 64.0f, 0.015625f));
  }
}

__device__ __forceinline__ float unit_of(word value) {
  return (float)(value >> 8) * 0.000000059604644775390625f;
}

extern "C" __global__ void __launch_bounds__(256) functions(CHAIN_ARGUMENTS) {
  word index = blockIdx.x * LANES + threadIdx.x;
  note_place(found);
  word start = pcg(index ^ seed), kind = (index >> 1) % 6u;
  word folded = __float_as_uint(value_of(kind, unit_of(start)));
  if (index & 1u)
    for (word step = 0; step < STEPS; step++)
      folded = pcg(folded) ^ __float_as_uint(value_of((kind + step) % 6u, unit_of(pcg(start + step))));
  keep(expected, found, index, folded, first, plant_index, plant_bits);
}
