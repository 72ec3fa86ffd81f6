// A picture drawn in layers of small triangles that cover every pixel exactly once a layer (shared
// edges belong to one of two triangles: Vulkan, basic polygon rasterization), whatever their corners
// are rounded to. `hashed`: the last layer's word stays. `added`: whole numbers up to 15 are blended
// layer upon layer; a half holds their sum exactly.

override side: u32 = 256u;

const CELLS = 32u;

struct Corner { @builtin(position) position: vec4<f32>, @location(0) @interpolate(flat) layer: u32 }

@vertex
fn corners(@builtin(vertex_index) number: u32, @builtin(instance_index) layer: u32) -> Corner {
  let cell = number / 6u;
  let corner = number % 6u;
  let right = u32(corner == 1u || corner == 3u || corner == 4u);
  let low = u32(corner == 2u || corner == 4u || corner == 5u);
  let column = cell % CELLS + right;
  let row = cell / CELLS + low;
  let word = pcg((row * 64u + column) ^ (layer << 16u) ^ params.seed);
  var at = vec2<f32>(f32(column), f32(row));
  if (column > 0u && column < CELLS) { at.x += f32(word & 255u) / 640.0 - 0.2; }
  if (row > 0u && row < CELLS) { at.y += f32((word >> 8u) & 255u) / 640.0 - 0.2; }
  let place = at / f32(CELLS) * 2.0 - 1.0;
  return Corner(vec4<f32>(place.x, -place.y, 0.5, 1.0), layer);
}

fn chained(place: u32, layer: u32) -> u32 {
  var x = pcg(place ^ params.seed ^ (layer << 24u));
  for (var step = 0u; step < 16u; step++) { x = pcg(x + step); }
  return x;
}

fn place_of(position: vec4<f32>) -> u32 { return u32(position.y) * side + u32(position.x); }

@fragment
fn hashed(corner: Corner) -> @location(0) vec4<u32> {
  return vec4<u32>(chained(place_of(corner.position), corner.layer), 0u, 0u, 0u);
}

@fragment
fn added(corner: Corner) -> @location(0) vec4<f32> {
  let x = chained(place_of(corner.position), corner.layer);
  return vec4<f32>(
    f32(x & 15u), f32((x >> 4u) & 15u), f32((x >> 8u) & 15u), f32((x >> 12u) & 15u)
  );
}
