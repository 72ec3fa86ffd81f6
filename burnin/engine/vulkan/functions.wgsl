// Functions whose last places are the card's own affair. Even results are one value as it came, to
// be held against the bounds of the language (WGSL 15.7.4 / Vulkan, precision of operations); odd ones
// fold 256 values, and need only repeat.

fn value_of(kind: u32, x: f32) -> f32 {
  switch (kind) {
    case 0u: { return sin(x * 6.25 - 3.125); }
    case 1u: { return cos(x * 6.25 - 3.125); }
    case 2u: { return exp2(x * 16.0 - 8.0); }
    case 3u: { return log2(x * 64.0 + 0.015625); }
    case 4u: { return inverseSqrt(x * 64.0 + 0.015625); }
    default: { return sqrt(x * 64.0 + 0.015625); }
  }
}

fn unit_of(word: u32) -> f32 { return f32(word >> 8u) * 0.000000059604644775390625; }

@compute @workgroup_size(256)
fn functions(@builtin(global_invocation_id) id: vec3<u32>) {
  let start = pcg(id.x ^ params.seed);
  let kind = (id.x >> 1u) % 6u;
  var folded = bitcast<u32>(value_of(kind, unit_of(start)));
  if ((id.x & 1u) == 1u) {
    for (var step = 0u; step < STEPS; step++) {
      folded = pcg(folded) ^ bitcast<u32>(value_of((kind + step) % 6u, unit_of(pcg(start + step))));
    }
  }
  keep(id.x, folded);
}
