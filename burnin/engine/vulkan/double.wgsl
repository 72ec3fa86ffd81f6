// Whole numbers below 2^53 in double precision: exact (IEEE 754-2019, 3.3: 53 bits of precision).

@compute @workgroup_size(256)
fn double_chain(@builtin(global_invocation_id) id: vec3<u32>) {
  var state = f64(pcg(id.x ^ params.seed) & 16777215u);
  var sum = 0.0lf;
  for (var step = 0u; step < STEPS; step++) {
    let wide = state * 22695477.0lf + 12345.0lf;
    state = wide - floor(wide * 5.9604644775390625e-8lf) * 16777216.0lf;
    sum += state;
  }
  let high = floor(sum * 5.9604644775390625e-8lf);
  keep(id.x, (u32(sum - high * 16777216.0lf) ^ (u32(high) << 24u)) ^ u32(state));
}
