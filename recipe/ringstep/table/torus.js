// Rings and parts to be turned by hand; one object of a scene holds them all.
import { CSS2DObject, THREE } from "nicegui-scene";

// what is there, gone through, new: body and outline, as in the flat pictures
const TONES = [["#e4e4e4", "#8c8c8c"], ["#9a9a9a", "#1c1c1c"], ["#474747", "#000000"]];
const FACES = [8, 32];
const UP = new THREE.Vector3(0, 0, 1);
const SIDE = new THREE.Vector3(0.3, 0.5, 0.8); // of both ways across a ring the one nearer to it
const shapes = new Map(); // rings of one size share theirs

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
    const named = rings.filter((ring) => ring[2]);
    const middle = new THREE.Vector3();
    for (const ring of named) middle.add(new THREE.Vector3(...ring.slice(3, 6)));
    middle.divideScalar(named.length || 1);
    for (const ring of rings) {
      const one = this.made(...ring);
      if (ring[2]) one.add(label(ring[2], one, middle, ring[9], named.indexOf(ring)));
      this.held.set(ring[0], one);
      this.all.add(one);
    }
  }

  made(id, tone, name, x, y, z, nx, ny, nz, radius, wire, ...body) {
    const one = new THREE.Group();
    one.object_id = id;
    one.position.set(x, y, z);
    const normal = new THREE.Vector3(nx, ny, nz);
    if (normal.dot(SIDE) < 0) normal.negate();
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
    return one;
  }
}

// a name on the ring's rim, away from the middle; those of two rings side by side stand apart
function label(name, one, middle, radius, nth) {
  const words = document.createElement("div");
  words.textContent = name;
  words.className = "ring-name";
  const out = one.position.clone().sub(middle).applyQuaternion(one.quaternion.clone().invert());
  const turn = Math.atan2(out.y, out.x) + (nth % 2 ? 0.5 : -0.5);
  const told = new CSS2DObject(words);
  told.position.set(radius * Math.cos(turn), radius * Math.sin(turn), 0);
  told.center.set(0.5, nth % 2); // above the spot, or below it
  return told;
}

function shape(...size) {
  const key = size.join(" ");
  if (!shapes.has(key)) shapes.set(key, geometry(...size));
  return shapes.get(key);
}

function geometry(radius, wire, body, more) {
  if (body.length > 1) {
    const [a, b, c, d, e, f, across] = body;
    const long = Math.hypot(d - a, e - b, f - c) + across;
    return new THREE.BoxGeometry(long + 2 * more, across + 2 * more, wire + 2 * more);
  }
  if (body.length) return new THREE.SphereGeometry(body[0] / 2 + more, 24, 16);
  return new THREE.TorusGeometry(radius, wire / 2 + more, ...FACES);
}
