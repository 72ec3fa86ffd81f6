// Keeps the fp32 units busy: chains of fused multiply-adds, eight vec4 deep so that no chain waits
// for its own last result. 16 steps a round, 8 x 4 multiply-adds a step.

struct Params { rounds: u32, seed: f32, pad0: u32, pad1: u32 }

@group(0) @binding(0) var<uniform> params: Params;
@group(0) @binding(1) var<storage, read_write> sink: array<f32>;

@compute @workgroup_size(256)
fn fused_multiply_add(@builtin(global_invocation_id) id: vec3<u32>) {
  let start = params.seed + f32(id.x & 255u) * 0.001;
  var x0 = vec4<f32>(start) + vec4<f32>(0.1, 0.2, 0.3, 0.4);
  var x1 = x0 + 0.5; var x2 = x0 + 0.6; var x3 = x0 + 0.7;
  var x4 = x0 + 0.8; var x5 = x0 + 0.9; var x6 = x0 + 1.1; var x7 = x0 + 1.2;
  // |a| < 1 keeps the values bounded; its sign lets most bits change at every step
  let a = vec4<f32>(-0.9371, -0.9173, -0.9719, -0.9531);
  let b = vec4<f32>(1.3717, 1.7131, 1.1373, 1.3177);
  for (var round = 0u; round < params.rounds; round++) {
    for (var step = 0u; step < 4u; step++) {
      x0 = fma(x0, a, b); x1 = fma(x1, a, b); x2 = fma(x2, a, b); x3 = fma(x3, a, b);
      x4 = fma(x4, a, b); x5 = fma(x5, a, b); x6 = fma(x6, a, b); x7 = fma(x7, a, b);
      x0 = fma(x0, a, b); x1 = fma(x1, a, b); x2 = fma(x2, a, b); x3 = fma(x3, a, b);
      x4 = fma(x4, a, b); x5 = fma(x5, a, b); x6 = fma(x6, a, b); x7 = fma(x7, a, b);
      x0 = fma(x0, a, b); x1 = fma(x1, a, b); x2 = fma(x2, a, b); x3 = fma(x3, a, b);
      x4 = fma(x4, a, b); x5 = fma(x5, a, b); x6 = fma(x6, a, b); x7 = fma(x7, a, b);
      x0 = fma(x0, a, b); x1 = fma(x1, a, b); x2 = fma(x2, a, b); x3 = fma(x3, a, b);
      x4 = fma(x4, a, b); x5 = fma(x5, a, b); x6 = fma(x6, a, b); x7 = fma(x7, a, b);
    }
  }
  let sum = x0 + x1 + x2 + x3 + x4 + x5 + x6 + x7;
  // never true, but the compiler cannot know: without it the work would be dropped
  if (sum.x > 1e30) { sink[id.x & 255u] = sum.x + sum.y + sum.z + sum.w; }
}
