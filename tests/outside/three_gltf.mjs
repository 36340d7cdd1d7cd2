// Reads a .glb or .gltf file by three's own loader, prints the pixels of points in each of its cameras.
// Arguments: the folder node_modules that holds three, the file, and as JSON {points_m, pixels}.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const at = (...parts) => import(pathToFileURL(join(process.argv[2], "three", ...parts)));
const three = await at("build", "three.module.js");
const { GLTFLoader } = await at("examples", "jsm", "loaders", "GLTFLoader.js");
const given = JSON.parse(process.argv[4]);
const data = readFileSync(process.argv[3]);
const bytes = data.buffer.slice(data.byteOffset, data.byteOffset + data.byteLength);
globalThis.self ??= globalThis; // what browsers have, for data within the file
globalThis.ProgressEvent ??= Event;
const gltf = await new GLTFLoader().parseAsync(bytes, "");
gltf.scene.updateMatrixWorld(true);
const [width, height] = given.pixels;
const found = {};
gltf.scene.traverse((one) => {
  if (!one.isCamera) return;
  one.updateProjectionMatrix();
  found[one.name] = given.points_m.map((point) => {
    const seen = new three.Vector3(...point).project(one);
    return [(seen.x + 1) * 0.5 * width, (1 - seen.y) * 0.5 * height];
  });
});
let meshes = 0;
gltf.scene.traverse((one) => (meshes += one.isMesh ? 1 : 0));
console.log(JSON.stringify({ cameras: found, meshes }));
