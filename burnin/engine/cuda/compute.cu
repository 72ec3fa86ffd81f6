// Results that repeat to the bit, and products that an algebraic identity checks.

// The chains of burnin/engine/reference.py.
extern "C" __global__ void __launch_bounds__(256) integer_chain(CHAIN_ARGUMENTS) {
  word index = blockIdx.x * 256 + threadIdx.x;
  word x = pcg(index ^ seed);
#pragma unroll 8
  for (word step = 0; step < STEPS; step++) x = pcg(x + step);
  keep(expected, found, index, x, first, plant_index, plant_bits);
}

extern "C" __global__ void __launch_bounds__(256) exact_chain(CHAIN_ARGUMENTS) {
  word index = blockIdx.x * 256 + threadIdx.x;
  float state = (float)(pcg(index ^ seed) & 4095u), sum = 0.0f;
#pragma unroll 8
  for (word step = 0; step < STEPS; step++) {
    float big = fmaf(state, 2029.0f, 1013.0f);
    state = fmaf(floorf(big * 0.000244140625f), -4096.0f, big);
    sum += state;
  }
  keep(expected, found, index, __float_as_uint(sum) ^ (word)state, first, plant_index, plant_bits);
}

extern "C" __global__ void __launch_bounds__(256) rounded_chain(CHAIN_ARGUMENTS) {
  word index = blockIdx.x * 256 + threadIdx.x;
  float x = (float)((pcg(index ^ seed) >> 9) | 1u) * 0.00000011920928955078125f;
#pragma unroll 8
  for (word step = 0; step < STEPS; step++) x = 3.9375f * fmaf(-x, x, x);
  keep(expected, found, index, __float_as_uint(x), first, plant_index, plant_bits);
}

// Matrices of whole numbers from -8 to 7. Every product sum is a whole number below 2^24, so fp32
// accumulates it exactly in any order, and the check may count modulo 2^64.
__device__ __forceinline__ int element(word index, word seed) {
  return (int)(pcg(index ^ seed) >> 28) - 8;
}

// The upper half of a whole number's fp32 pattern is its bf16 pattern: 4 significant bits suffice.
extern "C" __global__ void fill_bf16(unsigned short* matrix, word count, word seed) {
  word i = blockIdx.x * 256 + threadIdx.x;
  if (i < count) matrix[i] = (unsigned short)(__float_as_uint((float)element(i, seed)) >> 16);
}

// Whole numbers from -8 to 7 in fp16: sign, exponent 15 + log2, fraction.
extern "C" __global__ void fill_fp16(unsigned short* matrix, word count, word seed) {
  word i = blockIdx.x * 256 + threadIdx.x;
  if (i >= count) return;
  int value = element(i, seed);
  word size = value < 0 ? -value : value;
  word pattern = 0;
  if (size) {
    word top = 31 - __clz(size);
    pattern = ((15 + top) << 10) | ((size << (10 - top)) & 0x3FFu);
  }
  matrix[i] = (unsigned short)(pattern | (value < 0 ? 0x8000u : 0u));
}

// Random signs, fractions and two exponents: bits that change keep the matrix units at full power.
extern "C" __global__ void fill_noise_bf16(unsigned short* matrix, wide count, word seed) {
  wide i = (wide)blockIdx.x * 256 + threadIdx.x;
  if (i < count) matrix[i] = (unsigned short)((pcg((word)i ^ seed) & 0x80FFu) | 0x3F00u);
}

extern "C" __global__ void flip_result(word* product, word place, word bits) { product[place] ^= bits; }

// Odd 64-bit numbers: a single error e in column j moves the row's checksum by e * weight(j), and
// an odd factor never makes that 0 modulo 2^64.
__device__ __forceinline__ wide weight(word column, word salt) {
  word low = pcg(column ^ salt);
  return (((wide)pcg(low ^ 0x5bd1e995u) << 32) | low) | 1ull;
}

// Freivalds' check (R. Freivalds, "Probabilistic machines can use less running time", IFIP 1977):
// C r = A (B r). Columns are stored one after the other; sums[2 * row] weights column j with
// weight(j), sums[2 * row + 1] with (j + 1) * weight(j), which tells the column of an error.
#define CHUNK 64

extern "C" __global__ void __launch_bounds__(256)
weighted_factor(wide* sums, word rows, word columns, word element_seed, word salt) {
  word row = blockIdx.x * 256 + threadIdx.x;
  if (row >= rows) return;
  word from = blockIdx.y * CHUNK;
  wide one = 0, two = 0;
  for (word j = from; j < from + CHUNK && j < columns; j++) {
    wide term = (wide)(long long)element(row + j * rows, element_seed) * weight(j, salt);
    one += term;
    two += term * (j + 1);
  }
  atomicAdd(sums + 2 * row, one);
  atomicAdd(sums + 2 * row + 1, two);
}

// sums = A (B r): `inner` holds the two weighted sums of every row of B.
extern "C" __global__ void __launch_bounds__(256)
weighted_chain(wide* sums, const wide* inner, word rows, word depth, word element_seed) {
  word row = blockIdx.x * 256 + threadIdx.x;
  if (row >= rows) return;
  word from = blockIdx.y * CHUNK;
  wide one = 0, two = 0;
  for (word k = from; k < from + CHUNK && k < depth; k++) {
    wide factor = (wide)(long long)element(row + k * rows, element_seed);
    one += factor * inner[2 * k];
    two += factor * inner[2 * k + 1];
  }
  atomicAdd(sums + 2 * row, one);
  atomicAdd(sums + 2 * row + 1, two);
}

// What a result counts as in the sums: itself, if it is a whole number below 2^24. Any other is wrong
// whatever the product should be, and counts as its nearest whole number (or 0) plus 2^30, so that
// its row cannot come out right. The sign of a zero is not judged.
__device__ __forceinline__ long long counted(float value) {
  if (!(fabsf(value) < 16777216.0f)) return 1ll << 30;
  float whole = rintf(value);
  return (long long)whole + (value != whole ? 1ll << 30 : 0ll);
}

// sums = C r
extern "C" __global__ void __launch_bounds__(256)
weighted_product(wide* sums, const float* product, word rows, word columns, word salt) {
  word row = blockIdx.x * 256 + threadIdx.x;
  if (row >= rows) return;
  word from = blockIdx.y * CHUNK;
  wide one = 0, two = 0;
  for (word j = from; j < from + CHUNK && j < columns; j++) {
    wide term = (wide)counted(__ldcs(product + (wide)j * rows + row)) * weight(j, salt);
    one += term;
    two += term * (j + 1);
  }
  atomicAdd(sums + 2 * row, one);
  atomicAdd(sums + 2 * row + 1, two);
}

// Rows whose checksums differ, with the column of a single error and its right value. Where more
// than one result of a row is wrong, the row's first index and the checksums' low halves are noted.
extern "C" __global__ void __launch_bounds__(256)
compare_rows(const wide* got, const wide* want, const float* product, word rows, word columns,
             word salt, word* found) {
  word row = blockIdx.x * 256 + threadIdx.x;
  if (row >= rows) return;
  wide one = got[2 * row] - want[2 * row], two = got[2 * row + 1] - want[2 * row + 1];
  if (one == 0 && two == 0) return;
  for (word j = 0; j < columns; j++) {
    if (one * (j + 1) != two) continue;
    wide factor = weight(j, salt), inverse = factor;
    for (int k = 0; k < 6; k++) inverse *= 2 - factor * inverse;
    long long error = (long long)(one * inverse);
    if (error > 1ll << 31 || error < -(1ll << 31)) continue;
    float value = product[(wide)j * rows + row];
    note(found, row * columns + j, __float_as_uint((float)(counted(value) - error)),
         __float_as_uint(value));
    return;
  }
  note(found, row * columns, (word)want[2 * row], (word)got[2 * row]);
}

// Fused multiply-adds, where the matrix library is not at hand: 8 chains of 4, 16 steps a round.
extern "C" __global__ void __launch_bounds__(256) fused_multiply_add(word rounds, float seed, float* sink) {
  float x[32];
#pragma unroll
  for (int k = 0; k < 32; k++) x[k] = seed + 0.03f * k + 0.001f * threadIdx.x;
  for (word round = 0; round < rounds; round++) {
#pragma unroll
    for (int step = 0; step < 16; step++) {
#pragma unroll
      for (int k = 0; k < 32; k++) x[k] = fmaf(x[k], -0.9371f, 1.3717f);
    }
  }
  float sum = 0.0f;
#pragma unroll
  for (int k = 0; k < 32; k++) sum += x[k];
  if (sum > 1e30f) sink[threadIdx.x] = sum;
}
