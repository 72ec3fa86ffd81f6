// The chains of burnin/engine/device/reference.py.

@compute @workgroup_size(256)
fn integer_chain(@builtin(global_invocation_id) id: vec3<u32>) {
  var x = pcg(id.x ^ params.seed);
  for (var step = 0u; step < STEPS; step++) { x = pcg(x + step); }
  keep(id.x, x);
}

// Every product and sum is a whole number below 2^24 or a power-of-two multiple of one: exact in
// fp32 whether or not multiply and add are fused.
@compute @workgroup_size(256)
fn exact_chain(@builtin(global_invocation_id) id: vec3<u32>) {
  var state = f32(pcg(id.x ^ params.seed) & 4095u);
  var sum = 0.0;
  for (var step = 0u; step < STEPS; step++) {
    let wide = fma(state, 2029.0, 1013.0);
    state = fma(floor(wide * 0.000244140625), -4096.0, wide);
    sum = sum + state;
  }
  keep(id.x, bitcast<u32>(sum) ^ u32(state));
}

// A chaotic map: an error in the last place of any step shows in every bit of the result. What it
// rounds to is the card's own affair, but it must be the same every time.
@compute @workgroup_size(256)
fn rounded_chain(@builtin(global_invocation_id) id: vec3<u32>) {
  var x = f32((pcg(id.x ^ params.seed) >> 9u) | 1u) * 0.00000011920928955078125;
  for (var step = 0u; step < STEPS; step++) { x = 3.9375 * fma(-x, x, x); }
  keep(id.x, bitcast<u32>(x));
}
