// Four products of signed bytes and their sum, exact in 32 bits.

@compute @workgroup_size(256)
fn int8_dot(@builtin(global_invocation_id) id: vec3<u32>) {
  var x = pcg(id.x ^ params.seed);
  var sum = 0u;
  for (var step = 0u; step < STEPS; step++) {
    sum += u32(dot4I8Packed(x, x * 2654435769u + step)) + dot4U8Packed(x, sum);
    x = x * 747796405u + sum;
  }
  keep(id.x, sum ^ x);
}
