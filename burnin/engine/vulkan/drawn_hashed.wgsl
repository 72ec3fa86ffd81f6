// Takes a drawn picture of words into the results.
@group(0) @binding(3) var drawn: texture_2d<u32>;

@compute @workgroup_size(256)
fn taken(@builtin(global_invocation_id) id: vec3<u32>) {
  let side = textureDimensions(drawn).x;
  keep(id.x, textureLoad(drawn, vec2<u32>(id.x % side, id.x / side), 0).r);
}
