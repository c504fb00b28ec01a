// Reads binary glTF 2.0 as this server writes it: nodes with meshes, typed arrays straight from the file.
const TYPES = { 5123: Uint16Array, 5125: Uint32Array, 5126: Float32Array };
const WIDTHS = { SCALAR: 1, VEC2: 2, VEC3: 3 };

// A place after quarter turns to the left about the vertical.
export const turned = ([x, y, z], turns) => [[x, y, z], [z, y, -x], [-x, y, -z], [-z, y, x]][turns];

export function readGlb(buffer) {
  const head = new DataView(buffer);
  if (head.getUint32(0, true) !== 0x46546c67) throw new Error("not a glTF file");
  const size = head.getUint32(12, true);
  const told = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 20, size)));
  const start = 20 + size + 8;
  const array = (index) => {
    const { bufferView, componentType, count, type } = told.accessors[index];
    return new TYPES[componentType](buffer, start + told.bufferViews[bufferView].byteOffset, count * WIDTHS[type]);
  };
  const meshes = (told.meshes ?? []).map((mesh) => ({
    extras: mesh.extras ?? {},
    parts: mesh.primitives.map(({ attributes, indices, material, extras }) => ({
      positions: array(attributes.POSITION),
      low: told.accessors[attributes.POSITION].min,
      high: told.accessors[attributes.POSITION].max,
      normals: array(attributes.NORMAL),
      grain: attributes.TEXCOORD_0 === undefined ? null : array(attributes.TEXCOORD_0),
      members: attributes._MEMBER === undefined ? null : array(attributes._MEMBER),
      indices: array(indices),
      unseen: extras?.unseen ?? 0,
      material: told.materials[material].name,
    })),
  }));
  const nodes = (told.nodes ?? []).map((node) => ({
    name: node.name,
    mesh: node.mesh,
    at: node.translation ?? [0, 0, 0],
    turns: node.rotation === undefined ? 0 : Math.round(Math.atan2(node.rotation[1], node.rotation[3]) / (Math.PI / 4)) & 3,
    extras: node.extras ?? {},
  }));
  return { meshes, nodes, extras: told.scenes[0].extras ?? {} };
}
