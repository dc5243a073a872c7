// Prints one JSON object: file name -> the messages at error or warning level.
import { readFile } from "node:fs/promises";
import validator from "gltf-validator";

const found = {};
for (const path of process.argv.slice(2)) {
  const bytes = new Uint8Array(await readFile(path));
  const report = await validator.validateBytes(bytes, { uri: path });
  found[path] = report.issues.messages.filter((m) => m.severity <= 1);
}
console.log(JSON.stringify(found));
