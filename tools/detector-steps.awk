# Upper bound of the instructions that a function takes, from a disassembly of ARMv6-M code (objdump -d): the longest way
# through it and through all it calls, as if every branch could go the longer way in every combination.
#
# usage: awk -v of=FUNCTION -v loops='FUNCTION=TURNS ...' -v without='FUNCTION ...' -f tools/detector-steps.awk FILE
#
# loops: how often the loops of a function turn at the most. A loop in a function that is not named there is an error.
# without: only ways that call none of these, for calls that exclude each other.

function hex(text,    value, i) {
    value = 0
    text = tolower(text)
    for (i = 1; i <= length(text); i++) {
        value = 16 * value + index("0123456789abcdef", substr(text, i, 1)) - 1
    }
    return value
}

# The edge of an instruction, 1: to the next one, 2: to where it jumps; "": there is none.
function edge(at, which) {
    if (which == 1) {
        return (at in follows) ? follows[at] : ""
    }
    return (at in jumps) ? jumps[at] : ""
}

# Depth first from the start, without recursion: awk's own stack is small. Fills post[1..posts], every instruction after
# those it leads to; edges back to an instruction that is on the way are noted as loops.
function explore(start,    stack, turn, top, at, to) {
    posts = 0
    top = 1
    stack[1] = start
    turn[1] = 0
    state[start] = 1
    while (top > 0) {
        at = stack[top]
        if (++turn[top] > 2) {
            state[at] = 2
            post[++posts] = at
            top--
            continue
        }
        to = edge(at, turn[top])
        if (to == "") {
            continue
        }
        if (state[to] == 1) {
            back_from[++backs] = at
            back_to[backs] = to
            is_back[at, to] = 1
        } else if (state[to] != 2) {
            state[to] = 1
            stack[++top] = to
            turn[top] = 0
        }
    }
}

# Longest way from an instruction to the end of its function (goal "") or to another; -1: there is none.
function longest(from, goal,    i, which, at, to, best, far) {
    for (i = 1; i <= posts; i++) {
        at = post[i]
        best = at == goal || (goal == "" && edge(at, 1) == "" && edge(at, 2) == "") ? 0 : -1
        if ((at in calls) && (name_of[calls[at]] in forbidden)) {
            far[at] = -1
            continue
        }
        for (which = 1; which <= 2 && at != goal; which++) {
            to = edge(at, which)
            if (to != "" && !((at, to) in is_back) && far[to] > best) {
                best = far[to]
            }
        }
        far[at] = best < 0 ? -1 : best + 1 + extra[at]
    }
    return far[from]
}

# A function by the address it begins at. Its calls are reckoned first.
function cost(start,    i, n, list, total, first, turns) {
    if (start in known) {
        return known[start]
    }
    if (busy[start]) {
        complain(name_of[start] " calls itself")
        return 0
    }
    busy[start] = 1
    n = split(body[start], list, " ")
    for (i = 1; i <= n; i++) {
        extra[list[i]] = 0
        if (list[i] in calls) {
            extra[list[i]] = calls[list[i]] in name_of ? cost(calls[list[i]]) : complain("a call to nowhere")
        }
    }
    first = backs + 1
    explore(start)
    total = longest(start, "")
    turns = limit[name_of[start]]
    for (i = first; i <= backs; i++) {
        if (turns == "") {
            complain("a loop in " name_of[start] " whose turns nobody has stated")
        }
        total += turns * longest(back_to[i], back_from[i])
    }
    busy[start] = 0
    known[start] = total
    return total
}
function complain(what) {
    print "detector-steps: " what >"/dev/stderr"
    failed = 1
    return 0
}

BEGIN {
    n = split(loops, list, " ")
    for (i = 1; i <= n; i++) {
        split(list[i], pair, "=")
        limit[pair[1]] = pair[2]
    }
    n = split(without, list, " ")
    for (i = 1; i <= n; i++) {
        forbidden[list[i]] = 1
    }
}
/^[0-9a-f]+ <.*>:$/ {
    start = hex($1)
    name = $2
    gsub(/[<>:]/, "", name)
    name_of[start] = name
    address_of[name] = start
    next
}
/^ *[0-9a-f]+:\t/ {
    split($0, part, "\t")
    gsub(/[ :]/, "", part[1])
    at = hex(part[1])
    if (part[3] ~ /^\.(word|short)/) {
        next
    }
    body[start] = body[start] " " at
    op[at] = part[3]
    operand[at] = part[4]
    owner[at] = start
    order[++count] = at
}
END {
    for (i = 1; i <= count; i++) {
        at = order[i]
        target = operand[at]
        sub(/ .*/, "", target)
        if (op[at] ~ /^bl$/) {
            calls[at] = hex(target)
        } else if (op[at] ~ /^b/ && op[at] !~ /^b(ic|x|kpt|lx)/) {
            to = hex(target)
            if (owner[to] == owner[at] && !(to in name_of && to != owner[at])) {
                jumps[at] = to
            } else {
                calls[at] = to # a jump into another function is a call and a return
                if (!(to in name_of)) {
                    name_of[to] = "part of " name_of[owner[to]]
                    body[to] = body[owner[to]]
                }
            }
        } else if (op[at] ~ /^blx/) {
            complain("a call by a pointer in " name_of[owner[at]])
        }
        ends = op[at] ~ /^(b|b\.n|b\.w|bx)$/ || (op[at] ~ /^pop/ && operand[at] ~ /pc/)
        if (!ends && i < count) {
            if (owner[order[i + 1]] == owner[at]) {
                follows[at] = order[i + 1]
            } else if (op[at] !~ /^(nop|mov)$/) {
                calls[at] = order[i + 1] # runs on into the next function
            }
        }
    }
    if (!(of in address_of)) {
        complain("no function " of)
    }
    bound = failed ? 0 : cost(address_of[of])
    if (failed) {
        exit 1
    }
    print bound
}
