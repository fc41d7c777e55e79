// A closing in the module gives the bits it gives on this machine: every result, event, edge time and sample.
//
// usage: node closing.mjs MODULE NATIVE
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFileSync } from "node:fs";

const [, , module_path, native_path] = process.argv;
const { instance } = await WebAssembly.instantiate(readFileSync(module_path), {});
const c = instance.exports;

const text = (address) => {
    const bytes = new Uint8Array(c.memory.buffer, address);
    return new TextDecoder().decode(bytes.subarray(0, bytes.indexOf(0)));
};
const view = new DataView(new ArrayBuffer(8));
const hex = (bits) => BigInt.asUintN(64, bits).toString(16).padStart(16, "0");
const bits = (value) => {
    if (Number.isNaN(value)) {
        return "7ff8000000000000";
    }
    view.setFloat64(0, value);
    return hex(view.getBigUint64(0));
};
const option = (name) => {
    for (let i = 0; i < c.closing_option_count(); i++) {
        if (text(c.closing_option_name(i)) === name) {
            return i;
        }
    }
    throw new Error(`no option ${name}`);
};
const set = (name, value) => c.closing_set_option(option(name), value);

const lines = [];
const print = (name, value) => lines.push(`${name} ${bits(value)}`);

// The calls of native.c, in its order.
for (let family = 0; family < 4; family++) {
    c.closing_typical(family);
    set("rod", 1);
    set("rod_opening", 0.12);
    set("rod_stiffness", 10e3);
    set("sample_interval", 0.01);
    c.closing_add_drag_point(0.1, 0);
    c.closing_add_drag_point(0.2, 5);
    c.closing_add_switch(0.05, 2);
    c.closing_add_supply(0.7, 12);
    const status = c.closing_run();
    assert.equal(status, 0, text(c.closing_status_text(status)));
    lines.push(`family ${family}: ${text(c.closing_status_text(status))}`);
    for (let i = 0; i < c.closing_result_count(); i++) {
        print(text(c.closing_result_name(i)), c.closing_result(i));
    }
    lines.push(`edges ${c.closing_edge_count()} ${hex(c.closing_edge_digest())}`);
    for (let i = 0; i < c.closing_event_count(); i++) {
        print(text(c.closing_event_name(i)), c.closing_event_time(i));
        print("  travel", c.closing_event_travel(i));
        print("  force", c.closing_event_force(i));
    }
    for (let row = 0; row < c.closing_sample_count(); row++) {
        for (let column = 0; column < c.closing_column_count(); column++) {
            print(text(c.closing_column_name(column)), c.closing_sample(row, column));
        }
    }
    // The closing met the rod and turned round, so the comparison is about something.
    const names = Array.from({ length: c.closing_event_count() }, (_, i) => text(c.closing_event_name(i)).toLowerCase());
    for (const wanted of ["rod_touched", "pinch_seen", "reversal", "rod_left", "supply_step", "run_ends"]) {
        assert.ok(names.includes(wanted), `${wanted} happened`);
    }
    // The view into memory shows what the single questions answer.
    const columns = c.closing_column_count();
    const samples = new Float64Array(c.memory.buffer, c.closing_samples(), c.closing_sample_count() * columns);
    assert.ok(c.closing_sample_count() > 100 && c.closing_sample_count() < c.closing_sample_room());
    assert.equal(samples[5 * columns + 3], c.closing_sample(5, 3));
}

// Nonsense is answered, not obeyed.
assert.notEqual(c.closing_typical(17), 0);
assert.ok(Number.isNaN(c.closing_result(-1)) && Number.isNaN(c.closing_sample(0, 999)));
assert.equal(text(c.closing_number_name(100000)), "");

const native = execFileSync(native_path, { encoding: "utf8", maxBuffer: 1 << 26 }).trimEnd().split("\n");
assert.equal(lines.length, native.length);
for (let i = 0; i < lines.length; i++) {
    assert.equal(lines[i], native[i], `line ${i + 1}`);
}
console.log(`${lines.length} numbers, the same bits`);
