// What WebGL 2 runs: a sun with a soft shadow, a sky that lights from above, wood with a grain along it.
const HEAD = "#version 300 es\nprecision highp float;\nprecision highp int;\nprecision highp sampler2DShadow;\n";
const PLACED = `
layout(location=0) in vec3 position;
layout(location=1) in vec3 normal;
layout(location=2) in vec2 grain;
layout(location=3) in float member;
layout(location=4) in vec4 place;   // x, y, z and quarter turns to the left
layout(location=5) in vec4 told;    // number of the copy, its look, its lit member or -1, seed
uniform mat4 view, sun;
out vec3 v_at, v_sun;
vec3 turned(vec3 p) {
  if (place.w > 1.5) p = vec3(-p.x, p.y, -p.z);
  return mod(place.w, 2.0) > 0.5 ? vec3(p.z, p.y, -p.x) : p;
}
void stand(vec3 n) {
  v_at = turned(position) + place.xyz;
  vec4 s = sun * vec4(v_at + n * 0.02, 1.0);
  v_sun = s.xyz * 0.5 + 0.5;
  gl_Position = view * vec4(v_at, 1.0);
}`;
const LIGHT = `
uniform vec3 toward_sun, ground_colour;
uniform int kind;                   // 0 wood, 1 wall, 2 opening, 3 run, 4 ground
float tone_of(float seed, float member) { return fract(sin(seed * 7.13 + member * 3.77) * 951.3); }
vec3 base_of(float tone, float band, float fibre, vec4 told, float member) {
  if (kind == 2) return vec3(0.42, 0.18, 0.51);
  if (kind == 3) return vec3(0.62, 0.67, 0.71);
  if (kind != 0) return vec3(0.95, 0.94, 0.91);
  vec3 base = mix(vec3(0.90, 0.79, 0.60), vec3(0.79, 0.63, 0.43), tone * 0.45 + band * 0.4);
  base *= 0.93 + 0.12 * fibre;
  if (told.y > 1.5 && told.y < 2.5) base = mix(base, vec3(0.62, 0.61, 0.58), 0.75);
  else if (told.y > 0.5) base = mix(base, vec3(1.0, 0.80, 0.25), 0.55);
  return told.z > -0.5 ? mix(base, vec3(0.95, 0.60, 0.16), abs(told.z - member) < 0.5 ? 0.85 : 0.25) : base;
}
vec3 seen_of(vec3 base) { return pow(base, vec3(1.1)) * 1.08; }
vec3 sky_on(vec3 n) { return mix(vec3(0.42, 0.38, 0.33), vec3(0.60, 0.66, 0.74), n.y * 0.5 + 0.5) * 1.12; }
vec3 sun_on(vec3 n) { return vec3(1.0, 0.94, 0.83) * (max(dot(n, toward_sun), 0.0) * 0.64); }`;
const CUT = `
uniform vec4 cut;                   // a plane: what lies on its positive side is away
#ifdef CUTS
#define CUT_AWAY if (dot(v_at, cut.xyz) > cut.w) discard;
#else
#define CUT_AWAY
#endif`;
const SHADOW = `
in vec3 v_at, v_sun;
uniform float radius;
uniform sampler2DShadow shadows;
out vec4 colour;
${CUT}
float lit_at(vec2 off) { return texture(shadows, v_sun - vec3(off, 0.0012)); }
bool in_reach_of_sun() { return all(greaterThan(v_sun, vec3(0.0))) && all(lessThan(v_sun, vec3(1.0))); }
float lit_by_sun() {
  const float d = 0.6 / 1024.0;
  return in_reach_of_sun() ? 0.25 * (lit_at(vec2(d, d)) + lit_at(vec2(-d, d)) + lit_at(vec2(d, -d)) + lit_at(vec2(-d, -d))) : 1.0;
}
// paper with a shadow on it, which ends softly
vec4 ground() {
  float far = smoothstep(radius * 1.1, radius * 2.4, length(v_at.xz));
  float shade = far < 1.0 ? 1.0 - 0.34 * (1.0 - lit_by_sun()) : 1.0;
  return vec4(ground_colour * mix(shade, 1.0, far), 1.0);
}`;
const LIT_PLACED = `${PLACED}
out vec3 v_normal;
out vec2 v_grain;
flat out float v_member;
flat out vec4 v_told;
void main() {
  v_normal = turned(normal); v_grain = grain; v_member = member; v_told = told;
  stand(v_normal);
}`;
const LIT = `
in vec3 v_normal;
in vec2 v_grain;
flat in float v_member;
flat in vec4 v_told;
${LIGHT}
${SHADOW}
vec4 random(vec4 x, vec4 y) {
  vec4 a = fract(x * 0.1031), b = fract(y * 0.1137);
  vec4 c = (a + b) * (a + 33.33) + b * (b + 19.19);
  return fract((a + c) * (b + c));
}
float noise(vec2 p) {
  vec2 i = floor(p), f = fract(p); f = f * f * (3.0 - 2.0 * f);
  vec4 h = random(i.x + vec4(0, 1, 0, 1), i.y + vec4(0, 0, 1, 1));
  return mix(mix(h.x, h.y, f.x), mix(h.z, h.w, f.x), f.y);
}
void main() {
  if (kind == 4) {
    colour = ground();
    return;
  }
  float inches = fwidth(v_grain.y);  // across the grain in a pixel: what is finer than that would only glitter
  CUT_AWAY
  vec3 n = normalize(gl_FrontFacing ? v_normal : -v_normal);
  float tone = tone_of(v_told.w, v_member), band = 0.5, fibre = 0.5;
  if (kind == 0 && inches < 1.0) {
    float far = smoothstep(0.3, 1.0, inches);
    band = mix(noise(vec2(v_grain.x * 0.02 + tone * 17.0, v_grain.y * 1.3)), 0.5, far);
    far = smoothstep(0.08, 0.3, inches);
    if (far < 1.0) fibre = mix(noise(vec2(v_grain.x * 0.06 + tone * 40.0, v_grain.y * 5.0 + tone * 9.0)), 0.5, far);
  }
  vec3 on = sun_on(n);
  if (on.x > 0.0) on *= lit_by_sun();
  colour = vec4(seen_of(base_of(tone, band, fibre, v_told, v_member)) * (sky_on(n) + on), kind == 2 ? 0.42 : 1.0);
}`;
// While it moves on what can't keep up: lit by faces instead of pixels, no grain, shadows on wood with a harder edge.
const PLAIN_PLACED = `${PLACED}
${LIGHT}
flat out vec3 v_shade, v_sunlit;
void main() {
  vec3 n = turned(normal), base = seen_of(base_of(tone_of(told.w, member), 0.5, 0.5, told, member));
  v_shade = base * sky_on(n);
  v_sunlit = base * sun_on(n);
  stand(n);
}`;
const PLAIN = `
flat in vec3 v_shade, v_sunlit;
uniform vec3 ground_colour;
uniform int kind;
${SHADOW}
void main() {
  if (kind == 4) {
    colour = ground();
    return;
  }
  CUT_AWAY
  // on wide walls one would see the shadow change when it rests
  vec3 on = v_sunlit;
  if (on.x > 0.0) on *= kind == 0 && in_reach_of_sun() ? lit_at(vec2(0.0)) : lit_by_sun();
  colour = vec4(v_shade + on, 1.0);
}`;
const DARK = `
in vec3 v_at;
${CUT}
void main() { CUT_AWAY }`;
const NAMED = `
in vec3 v_at;
flat in float v_member;
flat in vec4 v_told;
out vec4 colour;
${CUT}
void main() {
  CUT_AWAY
  float n = (v_told.x < -0.5 ? v_member : v_told.x) + 1.0;  // walls are one mesh: its members are their nodes
  colour = vec4(mod(n, 256.0), floor(n / 256.0), mod(v_member + 1.0, 256.0), floor((v_member + 1.0) / 256.0)) / 255.0;
}`;
// Each by what it is for, without and with a cut: where nothing is cut no pixel has to be shaded before it is known to be seen.
export const PROGRAMS = Object.fromEntries(
  Object.entries({ lit: [LIT_PLACED, LIT], plain: [PLAIN_PLACED, PLAIN], dark: [LIT_PLACED, DARK], named: [LIT_PLACED, NAMED] }).map(
    ([name, [placed, shaded]]) => [name, { placed: HEAD + placed, shaded: [HEAD + shaded, `${HEAD}#define CUTS\n${shaded}`] }],
  ),
);
