// What WebGL 2 runs: a sun with a soft shadow, a sky that lights from above, wood with a grain along it.
const HEAD = "#version 300 es\nprecision highp float;\nprecision highp sampler2DShadow;\n";
export const LIT = `${HEAD}
layout(location=0) in vec3 position;
layout(location=1) in vec3 normal;
layout(location=2) in vec2 grain;
layout(location=3) in float member;
layout(location=4) in vec4 place;   // x, y, z and quarter turns to the left
layout(location=5) in vec4 told;    // number of the copy, its look, its lit member or -1, seed
uniform mat4 view, sun;
out vec3 v_at, v_normal, v_sun;
out vec2 v_grain;
flat out float v_member;
flat out vec4 v_told;
vec3 turned(vec3 p) {
  if (place.w > 1.5) p = vec3(-p.x, p.y, -p.z);
  return mod(place.w, 2.0) > 0.5 ? vec3(p.z, p.y, -p.x) : p;
}
void main() {
  vec3 at = turned(position) + place.xyz;
  v_at = at; v_normal = turned(normal); v_grain = grain; v_member = member; v_told = told;
  vec4 s = sun * vec4(at + v_normal * 0.02, 1.0);
  v_sun = s.xyz * 0.5 + 0.5;
  gl_Position = view * vec4(at, 1.0);
}`;
const CUT = `
uniform vec4 cut;                   // a plane: what lies on its positive side is away
#ifdef CUTS
#define CUT_AWAY if (dot(v_at, cut.xyz) > cut.w) discard;
#else
#define CUT_AWAY
#endif`;
const SHADE = `
in vec3 v_at, v_normal, v_sun;
in vec2 v_grain;
flat in float v_member;
flat in vec4 v_told;
uniform vec3 toward_sun, ground_colour;
uniform int kind;                   // 0 wood, 1 wall, 2 opening, 3 run, 4 ground
uniform float radius;
uniform sampler2DShadow shadows;
out vec4 colour;
${CUT}
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
float lit_by_sun() {
  if (any(lessThan(v_sun, vec3(0.0))) || any(greaterThan(v_sun, vec3(1.0)))) return 1.0;
  float z = v_sun.z - 0.0012, d = 0.6 / 1024.0;
  return 0.25 * (texture(shadows, vec3(v_sun.xy + vec2(-d, -d), z)) + texture(shadows, vec3(v_sun.xy + vec2(d, -d), z))
    + texture(shadows, vec3(v_sun.xy + vec2(-d, d), z)) + texture(shadows, vec3(v_sun.xy + vec2(d, d), z)));
}
void main() {
  if (kind == 4) {
    // paper with a shadow on it, which ends softly
    float shade = 1.0 - 0.34 * (1.0 - lit_by_sun());
    float far = smoothstep(radius * 1.1, radius * 2.4, length(v_at.xz));
    colour = vec4(ground_colour * mix(shade, 1.0, far), 1.0);
    return;
  }
  CUT_AWAY
  vec3 n = normalize(gl_FrontFacing ? v_normal : -v_normal);
  vec3 base = vec3(0.95, 0.94, 0.91);
  if (kind == 0) {
    float tone = fract(sin(v_told.w * 7.13 + v_member * 3.77) * 951.3);
    float fibre = noise(vec2(v_grain.x * 0.06 + tone * 40.0, v_grain.y * 5.0 + tone * 9.0));
    float band = noise(vec2(v_grain.x * 0.02 + tone * 17.0, v_grain.y * 1.3));
    base = mix(vec3(0.90, 0.79, 0.60), vec3(0.79, 0.63, 0.43), tone * 0.45 + band * 0.4);
    base *= 0.93 + 0.12 * fibre;
    if (v_told.y > 1.5 && v_told.y < 2.5) base = mix(base, vec3(0.62, 0.61, 0.58), 0.75);
    else if (v_told.y > 0.5) base = mix(base, vec3(1.0, 0.80, 0.25), 0.55);
    if (v_told.z > -0.5) base = mix(base, vec3(0.95, 0.60, 0.16), abs(v_told.z - v_member) < 0.5 ? 0.85 : 0.25);
  } else if (kind == 2) {
    base = vec3(0.42, 0.18, 0.51);
  } else if (kind == 3) {
    base = vec3(0.62, 0.67, 0.71);
  }
  float toward = max(dot(n, toward_sun), 0.0);
  float sunlit = toward > 0.0 ? toward * lit_by_sun() : 0.0;
  vec3 sky = mix(vec3(0.42, 0.38, 0.33), vec3(0.60, 0.66, 0.74), n.y * 0.5 + 0.5);
  vec3 light = sky * 1.12 + vec3(1.0, 0.94, 0.83) * sunlit * 0.64;
  colour = vec4(pow(base, vec3(1.1)) * light * 1.08, kind == 2 ? 0.42 : 1.0);
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
export const FRAGMENTS = Object.fromEntries(
  Object.entries({ lit: SHADE, dark: DARK, named: NAMED }).map(([name, body]) => [name, [HEAD + body, `${HEAD}#define CUTS\n${body}`]]),
);
