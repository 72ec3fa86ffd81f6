// Two chains in half precision at once. All values are whole numbers up to 1,023, or those over 32:
// exact in fp16 (11 bits of precision, IEEE 754-2019, 3.3).

@compute @workgroup_size(256)
fn half_chain(@builtin(global_invocation_id) id: vec3<u32>) {
  let start = pcg(id.x ^ params.seed);
  var state = vec2<f16>(f16(start & 31u), f16((start >> 5u) & 31u));
  var mixed = start;
  for (var block = 0u; block < STEPS / 32u; block++) {
    var sum = vec2<f16>(0.0h, 0.0h);
    for (var step = 0u; step < 32u; step++) {
      let wide = fma(state, vec2<f16>(29.0h, 21.0h), vec2<f16>(13.0h, 7.0h));
      state = fma(floor(wide * 0.03125h), vec2<f16>(-32.0h, -32.0h), wide);
      sum += state;
    }
    mixed = pcg(mixed ^ (u32(sum.x) | (u32(sum.y) << 16u)));
  }
  keep(id.x, mixed);
}
