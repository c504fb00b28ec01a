// Matrices and vectors as WebGL takes them: columns one after the other, y up.
export const multiply = (a, b) => {
  const out = new Float32Array(16);
  for (let i = 0; i < 4; i += 1) for (let j = 0; j < 4; j += 1) for (let k = 0; k < 4; k += 1) out[j * 4 + i] += a[k * 4 + i] * b[j * 4 + k];
  return out;
};
export const less = (a, b) => a.map((value, i) => value - b[i]);
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const dot = (a, b) => a.reduce((sum, value, i) => sum + value * b[i], 0);
export const unit = (a) => a.map((value) => value / (Math.hypot(...a) || 1));
export const looking = (eye, at) => {
  const back = unit(less(eye, at));
  const right = unit(cross([0, 1, 0], back));
  const up = cross(back, right);
  return new Float32Array([right[0], up[0], back[0], 0, right[1], up[1], back[1], 0, right[2], up[2], back[2], 0, -dot(right, eye), -dot(up, eye), -dot(back, eye), 1]);
};
export const perspective = (angle, ratio, near, far) => {
  const f = 1 / Math.tan(angle / 2);
  return new Float32Array([f / ratio, 0, 0, 0, 0, f, 0, 0, 0, 0, (far + near) / (near - far), -1, 0, 0, (2 * far * near) / (near - far), 0]);
};
export const parallel = (half, near, far) => new Float32Array([1 / half, 0, 0, 0, 0, 1 / half, 0, 0, 0, 0, -2 / (far - near), 0, 0, 0, -(far + near) / (far - near), 1]);
export const eyeOf = ({ at, turn, tilt, far }) => [
  at[0] + far * Math.cos(tilt) * Math.sin(turn), at[1] + far * Math.sin(tilt), at[2] + far * Math.cos(tilt) * Math.cos(turn),
];
// The four sides of what a view shows, as planes [a, b, c, d] of unit normal: inside where a x + b y + c z + d > 0.
export const sidesOf = (view) => [[0, 1], [0, -1], [1, 1], [1, -1]].map(([row, sign]) => {
  const plane = [0, 1, 2, 3].map((k) => view[k * 4 + 3] + sign * view[k * 4 + row]);
  const length = Math.hypot(plane[0], plane[1], plane[2]);
  return plane.map((value) => value / length);
});
