// Takes a blended picture into the results: four whole numbers, a byte each of their mixed sum.
@group(0) @binding(3) var drawn: texture_2d<f32>;

@compute @workgroup_size(256)
fn taken(@builtin(global_invocation_id) id: vec3<u32>) {
  let side = textureDimensions(drawn).x;
  let sums = textureLoad(drawn, vec2<u32>(id.x % side, id.x / side), 0);
  keep(id.x, pcg(u32(sums.r) | (u32(sums.g) << 16u)) ^ (u32(sums.b) | (u32(sums.a) << 16u)));
}
