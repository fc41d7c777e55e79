// Prints from the WebAssembly module what print_digest.c prints on this machine.
//
// usage: node print_digest.mjs MODULE
import { readFileSync } from "node:fs";

const { instance } = await WebAssembly.instantiate(readFileSync(process.argv[2]), {});
const { memory, digest_cases, digest_case_name, digest_of_case, digest_add } = instance.exports;

const text = (address) => {
    const bytes = new Uint8Array(memory.buffer, address);
    return new TextDecoder().decode(bytes.subarray(0, bytes.indexOf(0)));
};
const hex = (digest) => BigInt.asUintN(64, digest).toString(16).padStart(16, "0");

let all = 14695981039346656037n;
for (let i = 0; i < digest_cases(); i++) {
    const digest = digest_of_case(i);
    all = digest_add(all, digest);
    console.log(`${text(digest_case_name(i))} ${hex(digest)}`);
}
console.log(`all ${hex(all)}`);
