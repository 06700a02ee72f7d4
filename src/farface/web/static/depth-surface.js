// @ts-check
/** Draw a depth map as a surface on plain WebGL2; depths come from a texture, so turning sends nothing anew. */

// Cividis, sampled evenly at nine places: even to the eye and the same to the colour-blind.
export const COLOURS = [
  [0, 0.135, 0.305], [0.103, 0.22, 0.436], [0.264, 0.308, 0.423], [0.381, 0.395, 0.436], [0.489, 0.485, 0.471],
  [0.609, 0.58, 0.464], [0.736, 0.681, 0.424], [0.871, 0.79, 0.343], [0.996, 0.909, 0.218],
];
const MESH = 420;

const CORNERS = `#version 300 es
precision highp float;
uniform highp sampler2D depths;
uniform vec2 size, mesh, half_size;
uniform float relief, share;
uniform mat3 turned;
uniform vec2 fit;
out vec2 at;
void main() {
  vec2 uv = vec2(mod(float(gl_VertexID), mesh.x), floor(float(gl_VertexID) / mesh.x)) / (mesh - 1.0);
  at = uv * (size - 1.0);
  float depth = texelFetch(depths, ivec2(at + 0.5), 0).r * share;
  vec3 p = turned * vec3((2.0 * uv - 1.0) * half_size, -depth * relief);
  gl_Position = vec4(p.xy * fit, -0.4 * p.z, 1.0);
}`;

const DOTS = `#version 300 es
precision highp float;
uniform highp sampler2D depths;
uniform vec2 size;
uniform float relief, share, deepest, cut, cell;
uniform vec3 colours[9];
in vec2 at;
out vec4 dot_colour;
float depth(vec2 p) { return texelFetch(depths, ivec2(clamp(p + 0.5, vec2(0.0), size - 1.0)), 0).r * share; }
void main() {
  float here = depth(at);
  vec2 slope = vec2(depth(at + vec2(1, 0)) - depth(at - vec2(1, 0)), depth(at + vec2(0, 1)) - depth(at - vec2(0, 1)));
  vec3 normal = normalize(vec3(slope * relief / (2.0 * cell), 1.0));
  float light = 0.62 + 0.38 * max(0.0, dot(normal, normalize(vec3(-0.5, 0.6, 0.8))));
  float k = 8.0 * clamp(here / deepest, 0.0, 1.0);
  int low = int(min(floor(k), 7.0));
  vec3 colour = mix(colours[low], colours[low + 1], k - float(low)) * light;
  dot_colour = vec4(abs(at.y - cut) < 1.2 ? vec3(0.93, 0.45, 0.33) : colour, 1.0);
}`;

/** Hold a map on the graphics card, ready to be drawn under any turn. */
export class Surface {
  /** @param {HTMLCanvasElement} canvas @param {Float32Array} depths @param {number} rows @param {number} columns */
  constructor(canvas, depths, rows, columns) {
    const gl = canvas.getContext("webgl2", { antialias: true });
    if (!gl) throw new Error("This browser has no WebGL2.");
    [this.canvas, this.gl, this.rows, this.columns] = [canvas, gl, rows, columns];
    this.program = /** @type {WebGLProgram} */ (gl.createProgram());
    for (const [kind, text] of [[gl.VERTEX_SHADER, CORNERS], [gl.FRAGMENT_SHADER, DOTS]]) {
      const shader = /** @type {WebGLShader} */ (gl.createShader(Number(kind)));
      gl.shaderSource(shader, String(text));
      gl.compileShader(shader);
      gl.attachShader(this.program, shader);
    }
    gl.linkProgram(this.program);
    if (!gl.getProgramParameter(this.program, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(this.program) ?? "");
    gl.useProgram(this.program);
    gl.bindTexture(gl.TEXTURE_2D, gl.createTexture());
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.R32F, columns, rows, 0, gl.RED, gl.FLOAT, depths);
    for (const name of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER]) gl.texParameteri(gl.TEXTURE_2D, name, gl.NEAREST);
    this.mesh = [Math.min(MESH, columns), Math.min(MESH, rows)];
    const corners = triangles(this.mesh[0], this.mesh[1]);
    this.count = corners.length;
    gl.bindVertexArray(gl.createVertexArray());
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, corners, gl.STATIC_DRAW);
    gl.enable(gl.DEPTH_TEST);
  }

  /** Draw; angles in degrees, ``cell`` and depths in metres, ``relief`` how much depths are stretched.
   * @param {{turn: number, tilt: number, share: number, deepest: number, relief: number, cell: number, cut: number}} how */
  draw(how) {
    const { gl, canvas } = this;
    [canvas.width, canvas.height] = [canvas.clientWidth * devicePixelRatio, canvas.clientHeight * devicePixelRatio];
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const half = [this.columns, this.rows].map((count) => count / Math.max(this.columns, this.rows));
    const metre = 2 / (Math.max(this.columns, this.rows) * how.cell); // picture units a metre
    const zoom = 0.92 / Math.hypot(half[0], half[1]);
    /** @param {string} name */
    const at = (name) => gl.getUniformLocation(this.program, name);
    gl.uniform2f(at("size"), this.columns, this.rows);
    gl.uniform2f(at("mesh"), this.mesh[0], this.mesh[1]);
    gl.uniform2f(at("half_size"), half[0], half[1]);
    gl.uniform2f(at("fit"), 1.15 * zoom * (canvas.height / canvas.width) * 1.2, 1.15 * zoom * 1.2);
    gl.uniform3fv(at("colours"), COLOURS.flat());
    gl.uniformMatrix3fv(at("turned"), false, turned(how.turn, how.tilt));
    for (const [name, value] of Object.entries({ share: how.share, deepest: how.deepest, cut: how.cut, cell: how.cell })) {
      gl.uniform1f(at(name), value);
    }
    gl.uniform1f(at("relief"), how.relief * metre);
    gl.drawElements(gl.TRIANGLES, this.count, gl.UNSIGNED_INT, 0);
  }
}

/** Turn about the upright, then tilt towards the viewer: the columns of the matrix one after another.
 * @param {number} turn @param {number} tilt */
function turned(turn, tilt) {
  const [a, b] = [(turn * Math.PI) / 180, (tilt * Math.PI) / 180];
  const [ca, sa, cb, sb] = [Math.cos(a), Math.sin(a), Math.sin(b), Math.cos(b)];
  return new Float32Array([ca, sa * cb, -sa * sb, -sa, ca * cb, -ca * sb, 0, sb, cb]);
}

/** @param {number} wide @param {number} high */
function triangles(wide, high) {
  const corners = new Uint32Array(6 * (wide - 1) * (high - 1));
  let k = 0;
  for (let row = 0; row + 1 < high; row += 1) {
    for (let column = 0; column + 1 < wide; column += 1) {
      const at = row * wide + column;
      for (const corner of [at, at + 1, at + wide, at + 1, at + wide + 1, at + wide]) corners[k++] = corner;
    }
  }
  return corners;
}
