/* What book/scene.py hands to view3d.js; tests/book/test_shapes.py holds it against a scene. */

/** The wall, in mm of the wall frame. */
interface Scene {
  says: string;
  meshes: Mesh[];
  kinds: Record<string, Kind>;
  things: Thing[];
  items: Item[];
  panels: ScenePanel[];
  lift: number; // how far a part of lift 1 moves towards the viewer when the wall is pulled apart
  front: number; // lift of the diffuser
  spread: number; // share by which panels move apart
  whole: Box;
}

/** Corners and faces of a part. */
interface Mesh {
  step: number; // mm of one step of a corner
  points: string; // base64 of three 16-bit steps a corner
  faces: string; // base64 of three 16-bit numbers of corners a face
}

/** How all parts of one kind look; "a" below 1 is seen through once they are pulled apart. */
interface Kind {
  name: string;
  c: number[]; // red, green, blue
  a: number;
  lift: number;
  out: number;
  glows?: number[];
}

/** The words of a click. */
interface Thing {
  name: string;
  count: number;
  file: string;
  note: string;
}

/** A mesh at its place; "a" is its turn in radians. */
interface Item {
  mesh: number;
  kind: string;
  panels: string[];
  x: number;
  y: number;
  z: number;
  a: number;
  thing: number;
  lit?: number;
}

/** A panel's middle and its radius. */
interface ScenePanel {
  name: string;
  x: number;
  y: number;
  z: number;
  r: number;
}

/** A middle, and half of width and height. */
interface Box {
  x: number;
  y: number;
  z: number;
  wide: number;
  high: number;
}
