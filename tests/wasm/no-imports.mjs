// The module asks its host for nothing: no file, no clock, no WASI call. So it starts with an empty import object, in a
// browser as here, and that is also the proof that the core does no input or output.
//
// usage: node no-imports.mjs MODULE
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";

const module = await WebAssembly.compile(readFileSync(process.argv[2]));
assert.deepEqual(WebAssembly.Module.imports(module), []);

const exported = WebAssembly.Module.exports(module);
assert.ok(exported.some(({ kind }) => kind === "memory"), "the memory is exported");
assert.ok(exported.some(({ kind }) => kind === "function"), "something can be called");

const instance = await WebAssembly.instantiate(module, {});
console.log(`${exported.length} exports, no import; ${instance.exports.memory.buffer.byteLength} bytes of memory`);
