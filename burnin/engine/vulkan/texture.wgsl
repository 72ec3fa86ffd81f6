// Reads through the texture units. Even results are one filtered value, half way between texels in
// both directions: the mean of four, within what the filter's precision leaves. Odd ones follow a
// path of 64 texels as they lie, exactly.

@group(0) @binding(3) var texels: texture_2d<f32>;
@group(0) @binding(4) var smooth_: sampler;

const SIDE = 256u;

fn texel(place: u32) -> u32 {
  let value = textureLoad(texels, vec2<u32>(place % SIDE, (place / SIDE) % SIDE), 0) * 255.0;
  return u32(value.r + 0.5) | (u32(value.g + 0.5) << 8u) | (u32(value.b + 0.5) << 16u)
    | (u32(value.a + 0.5) << 24u);
}

@compute @workgroup_size(256)
fn texture_reads(@builtin(global_invocation_id) id: vec3<u32>) {
  var x = pcg(id.x ^ params.seed);
  if ((id.x & 1u) == 1u) {
    for (var step = 0u; step < 64u; step++) { x = pcg(x ^ texel(x >> 8u)); }
    keep(id.x, x);
    return;
  }
  let column = (x >> 8u) % (SIDE - 1u);
  let row = (x >> 20u) % (SIDE - 1u);
  let middle = vec2<f32>(f32(column + 1u), f32(row + 1u)) / f32(SIDE);
  keep(id.x, bitcast<u32>(textureSampleLevel(texels, smooth_, middle, 0.0).r));
}
