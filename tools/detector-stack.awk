# Deepest stack of any function in a disassembly of ARMv6-M code (objdump -d), in bytes: what each function pushes or takes
# off the stack pointer anywhere in it, plus the deepest of those it calls or jumps to. Fails on a call by pointer or on
# recursion, for then there is no such bound.
function registers(list,    n, parts, i, total, ends) {
    gsub(/[{} ]/, "", list)
    n = split(list, parts, ",")
    total = 0
    for (i = 1; i <= n; i++) {
        if (split(parts[i], ends, "-") == 2) {
            total += substr(ends[2], 2) - substr(ends[1], 2) + 1
        } else {
            total++
        }
    }
    return total
}
function depth(name,    n, parts, i, most, d) {
    if (name in known) {
        return known[name]
    }
    if (busy[name]) {
        print "detector-stack: " name " calls itself" >"/dev/stderr"
        failed = 1
        return 0
    }
    busy[name] = 1
    most = 0
    n = split(calls[name], parts, " ")
    for (i = 1; i <= n; i++) {
        d = depth(parts[i])
        if (d > most) {
            most = d
        }
    }
    busy[name] = 0
    known[name] = own[name] + most
    return known[name]
}
/^[0-9a-f]+ <.*>:$/ {
    name = $2
    gsub(/[<>:]/, "", name)
    names[name] = 1
    next
}
/\tpush\t/ {
    list = $0
    sub(/.*\{/, "", list)
    sub(/\}.*/, "", list)
    own[name] += 4 * registers(list)
}
/\tsub\tsp, #/ {
    bytes = $0
    sub(/.*#/, "", bytes)
    own[name] += bytes + 0
}
/\tblx\t/ {
    print "detector-stack: " name " calls by a pointer" >"/dev/stderr"
    failed = 1
}
/\tb[a-z.]*\t[0-9a-f]+ </ {
    target = $0
    sub(/.*</, "", target)
    sub(/[+>].*/, "", target)
    if (target != name) {
        calls[name] = calls[name] " " target
    }
}
END {
    deepest = 0
    for (name in names) {
        d = depth(name)
        if (d > deepest) {
            deepest = d
            where = name
        }
    }
    if (failed || deepest == 0) {
        exit 1
    }
    print deepest
}
