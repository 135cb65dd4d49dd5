// Rings and parts to be turned by hand; one object of a scene holds them all.
import { CSS2DObject, THREE } from "nicegui-scene";

// what is there, gone through, new: body and outline, as in the flat pictures
const TONES = [["#e4e4e4", "#8c8c8c"], ["#9a9a9a", "#1c1c1c"], ["#474747", "#000000"]];
const FACES = [8, 32];
const UP = new THREE.Vector3(0, 0, 1);

export default class Torus {
  // rings: [id, tone, name or "", centre x, y, z, normal x, y, z, radius, wire, ...body]
  create_mesh(rings) {
    this.all = new THREE.Group();
    this.held = new Map();
    this.change(rings, []);
    return this.all;
  }

  change(rings, gone) {
    for (const id of [...gone, ...rings.map((ring) => ring[0])]) {
      const old = this.held.get(id);
      if (!old) continue;
      old.clear(); // a name written beside it goes with it
      old.removeFromParent();
      this.held.delete(id);
    }
    for (const ring of rings) {
      const one = this.made(...ring);
      this.held.set(ring[0], one);
      this.all.add(one);
    }
  }

  made(id, tone, name, x, y, z, nx, ny, nz, radius, wire, ...body) {
    const one = new THREE.Group();
    one.object_id = id;
    one.position.set(x, y, z);
    const normal = new THREE.Vector3(nx, ny, nz);
    one.quaternion.setFromUnitVectors(UP, normal);
    const [inner, outer] = TONES[tone];
    const look = new THREE.MeshPhongMaterial({ color: inner, shininess: 60, specular: "#777777" });
    const edge = new THREE.MeshBasicMaterial({ color: outer, side: THREE.BackSide });
    const more = 0.06 * wire;
    for (const [material, by] of [[look, 0], [edge, more]]) {
      one.add(new THREE.Mesh(shape(radius, wire, body, by), material));
    }
    if (body.length > 1) {
      const [a, b, c, d, e, f] = body;
      const along = new THREE.Vector3(d - a, e - b, f - c).normalize();
      const basis = new THREE.Matrix4().makeBasis(along, normal.clone().cross(along), normal);
      one.quaternion.setFromRotationMatrix(basis);
      one.position.add(new THREE.Vector3(a + d, b + e, c + f).divideScalar(2));
    }
    if (name) {
      const words = document.createElement("div");
      words.textContent = name;
      words.className = "ring-name";
      const told = new CSS2DObject(words);
      const turn = 2.4 * this.held.size; // names of rings that lie together stand apart
      told.position.set(radius * Math.cos(turn), radius * Math.sin(turn), 0);
      one.add(told);
    }
    return one;
  }
}

function shape(radius, wire, body, more) {
  if (body.length > 1) {
    const [a, b, c, d, e, f, across] = body;
    const long = Math.hypot(d - a, e - b, f - c) + across;
    return new THREE.BoxGeometry(long + 2 * more, across + 2 * more, wire + 2 * more);
  }
  if (body.length) return new THREE.SphereGeometry(body[0] / 2 + more, 24, 16);
  return new THREE.TorusGeometry(radius, wire / 2 + more, ...FACES);
}
