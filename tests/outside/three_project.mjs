// Reads cameras as JSON from standard input, prints their points' pixels as three draws them.
// Argument: the folder node_modules that holds three.
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";

const three = await import(pathToFileURL(join(process.argv[2], "three", "build", "three.module.js")));

function camera(given) {
  const [width, height] = given.whole_px;
  const aspect = width / height;
  let made;
  if (given.kind === "perspective") {
    made = new three.PerspectiveCamera(50, aspect, given.near_m, given.far_m);
    made.filmGauge = 36;
    made.setFocalLength(given.focal_mm);
  } else {
    const up = given.view_height_m / 2;
    made = new three.OrthographicCamera(-up * aspect, up * aspect, up, -up, given.near_m, given.far_m);
  }
  made.setViewOffset(width, height, ...given.view_offset);
  const rad = Math.PI / 180;
  made.position.set(...given.eye_m);
  made.rotation.set(-given.pitch_deg * rad, given.yaw_deg * rad, -given.roll_deg * rad, "YXZ");
  made.updateProjectionMatrix();
  made.updateMatrixWorld();
  return made;
}

const found = JSON.parse(readFileSync(0, "utf8")).map((given) => {
  const made = camera(given);
  const [width, height] = given.pixels;
  const pixels = given.points_m.map((point) => {
    const at = new three.Vector3(...point).project(made);
    return [(at.x + 1) * 0.5 * width, (1 - at.y) * 0.5 * height, at.z];
  });
  return { pixels, projection: made.projectionMatrix.toArray() };
});
console.log(JSON.stringify({ revision: three.REVISION, cameras: found }));
