#!/usr/bin/python3
# SPDX-License-Identifier: Apache-2.0
"""Holds the tree to what DEVELOPERS.md promises of it.

  check_structure.py ROOT CHECK      CHECK: names, circles, layers, sizes, rooms, licence
  check_structure.py --self-test     each check finds a fault that is put before it

names     no type name is defined in two headers of one namespace, or in two namespaces of the program's rooms (the one-definition rule and readers both)
circles   no circle of includes, a header and its source taken as one
layers    a sub-room includes only rooms that its CMake library links, directly or through another
sizes     at most 40 sources a folder, 400 lines a file, 70 lines a function
rooms     every room's CMakeLists.txt says in its first lines what it takes and what it gives
licence   every source begins with its SPDX line

Definitions and the ends of functions come from Universal Ctags. Exit 0; 1 with a line a fault; 2 on unusable arguments.
"""
import collections, pathlib, re, subprocess, sys, tempfile

MOST_FILES, MOST_LINES, MOST_FUNCTION_LINES = 40, 400, 70
ROOTS = ("pipeline", "calib", "demo", "tools", "tests")
PROGRAM_ROOTS = ("pipeline", "calib", "demo", "tools")
SOURCES = (".h", ".cpp")


def sources(root, roots=ROOTS):
    return sorted(f for r in roots for f in (root / r).rglob("*") if f.suffix in SOURCES and f.is_file())


def tags(root, files, kinds):
    """(name, file, fields) of every definition of these kinds."""
    listing = subprocess.run(
        ["ctags", "--languages=C++", "--language-force=C++", f"--kinds-C++={kinds}", "--fields=+neKs", "-f", "-", "-L", "-"],
        input="\n".join(str(f) for f in files), capture_output=True, text=True, check=True, cwd=root).stdout
    for line in listing.splitlines():
        name, file, *rest = line.split("\t")
        fields = dict(x.split(":", 1) for x in rest if ":" in x and not x.startswith("/"))
        yield name, pathlib.Path(file), fields


def check_names(root):
    headers = [f for f in sources(root, PROGRAM_ROOTS) if f.suffix == ".h"]
    places = collections.defaultdict(set)
    for name, file, fields in tags(root, headers, "csgut"):
        inside_type = any(kind in fields for kind in ("class", "struct", "union"))
        if not inside_type and not name.startswith("__anon"):
            places[name].add(file.relative_to(root))
    for name, files in sorted(places.items()):
        if len(files) > 1:
            yield f"{name} is defined in {', '.join(map(str, sorted(files)))}: one meaning a name"


def modules(root):
    """Every header-and-source pair with those that it includes."""
    files = {str(f.relative_to(root)) for f in sources(root, PROGRAM_ROOTS)}
    out = {str(pathlib.Path(f).with_suffix("")): set() for f in files}
    for f in sorted(files):
        own = str(pathlib.Path(f).with_suffix(""))
        for target in re.findall(r'^\s*#\s*include\s+"([^"]+)"', (root / f).read_text(), re.M):
            if target in files and str(pathlib.Path(target).with_suffix("")) != own:
                out[own].add(str(pathlib.Path(target).with_suffix("")))
    return out


def check_circles(root):
    graph = modules(root)
    index, low, stack, on_stack, counter = {}, {}, [], set(), [0]

    def visit(v):  # R. Tarjan, "Depth-first search and linear graph algorithms", 1972
        index[v] = low[v] = counter[0]
        counter[0] += 1
        stack.append(v)
        on_stack.add(v)
        for w in sorted(graph[v]):
            if w not in index:
                yield from visit(w)
                low[v] = min(low[v], low[w])
            elif w in on_stack:
                low[v] = min(low[v], index[w])
        if low[v] == index[v]:
            part = []
            while not part or part[-1] != v:
                part.append(stack.pop())
                on_stack.discard(part[-1])
            if len(part) > 1:
                yield part

    sys.setrecursionlimit(10000)
    for v in sorted(graph):
        if v not in index:
            for part in visit(v):
                yield "circle of includes: " + ", ".join(sorted(part))


def rooms(root):
    """Folder -> (library, those it links) of every chalkfold_room."""
    out = {}
    for cmake in sorted(f for r in PROGRAM_ROOTS for f in (root / r).rglob("CMakeLists.txt")):
        text = re.sub(r"#.*", "", cmake.read_text())
        libraries = re.findall(r"chalkfold_room\(\s*(\w+)(.*?)\)", text, re.S)
        if libraries:
            names = [name for name, _ in libraries]
            linked = set(re.findall(r"chalkfold::(\w+)", " ".join(body for _, body in libraries)))
            out[str(cmake.parent.relative_to(root))] = (names, linked | set(names))
    return out


def check_layers(root):
    known = rooms(root)
    folder_of = {name: folder for folder, (names, _) in known.items() for name in names}

    def reached(folder, seen):
        for library in known[folder][1]:
            below = folder_of.get(library)
            if below and below not in seen:
                seen.add(below)
                reached(below, seen)
        return seen

    for folder in sorted(known):
        may = reached(folder, {folder})
        for f in sorted((root / folder).iterdir()):
            if f.suffix not in SOURCES:
                continue
            for target in re.findall(r'^\s*#\s*include\s+"([^"]+)"', f.read_text(), re.M):
                home = str(pathlib.Path(target).parent)
                if home in known and home not in may:
                    yield f"{f.relative_to(root)} includes {target}, and {folder} does not link its room"


def check_sizes(root):
    files = sources(root)
    for folder, count in sorted(collections.Counter(f.parent for f in files).items()):
        if count > MOST_FILES:
            yield f"{folder.relative_to(root)} holds {count} sources, {MOST_FILES} at most"
    for f in files:
        lines = len(f.read_text().splitlines())
        if lines > MOST_LINES:
            yield f"{f.relative_to(root)} has {lines} lines, {MOST_LINES} at most"
    for name, file, fields in tags(root, files, "f"):
        if "end" in fields and int(fields["end"]) - int(fields["line"]) + 1 > MOST_FUNCTION_LINES:
            yield f"{file.relative_to(root)}: {name} has {int(fields['end']) - int(fields['line']) + 1} lines, {MOST_FUNCTION_LINES} at most"


def check_rooms(root):
    for folder in rooms(root):
        head = (root / folder / "CMakeLists.txt").read_text()
        for word in ("# Takes: ", "# Gives: "):
            if word not in head:
                yield f"{folder}/CMakeLists.txt does not say what the room {word[2:-2].lower()}"


def check_licence(root):
    for f in sources(root) + sorted(f for r in ROOTS for f in (root / r).rglob("*.py")):
        if not any("SPDX-License-Identifier: Apache-2.0" in line for line in f.read_text().splitlines()[:3]):
            yield f"{f.relative_to(root)} has no SPDX line"


CHECKS = {"names": check_names, "circles": check_circles, "layers": check_layers, "sizes": check_sizes, "rooms": check_rooms,
          "licence": check_licence}


def self_test():
    """A small tree with one fault of each kind; every check must find its own and nothing in the tree without it."""
    spdx = "// SPDX-License-Identifier: Apache-2.0\n"
    good = {
        "pipeline/a/CMakeLists.txt": "# Takes: x\n# Gives: y\nchalkfold_room(a SOURCES one.cpp)\n",
        "pipeline/b/CMakeLists.txt": "# Takes: x\n# Gives: y\nchalkfold_room(b SOURCES two.cpp PUBLIC chalkfold::a)\n",
        "pipeline/a/one.h": spdx + "struct One { int x; };\n", "pipeline/a/one.cpp": spdx + '#include "pipeline/a/one.h"\n',
        "pipeline/b/two.h": spdx + '#include "pipeline/a/one.h"\nstruct Two { int x; };\n',
        "pipeline/b/two.cpp": spdx + '#include "pipeline/b/two.h"\n'}
    faults = {
        "names": {"pipeline/b/two.h": spdx + "struct One { double x; };\n"},
        "circles": {"pipeline/a/one.cpp": spdx + '#include "pipeline/b/two.h"\n'},
        "layers": {"pipeline/a/one.cpp": spdx + '#include "pipeline/b/two.h"\n'},
        "sizes": {"pipeline/a/one.cpp": spdx + "int f() {\n" + "  ;\n" * MOST_FUNCTION_LINES + "  return 0;\n}\n"},
        "rooms": {"pipeline/a/CMakeLists.txt": "chalkfold_room(a SOURCES one.cpp)\n"},
        "licence": {"pipeline/a/one.h": "struct One { int x; };\n"}}
    missed = []
    for check, spoilt in faults.items():
        for tree, wanted in ((good, False), ({**good, **spoilt}, True)):
            with tempfile.TemporaryDirectory() as folder:
                root = pathlib.Path(folder)
                for name, text in tree.items():
                    (root / name).parent.mkdir(parents=True, exist_ok=True)
                    (root / name).write_text(text)
                if bool(list(CHECKS[check](root))) != wanted:
                    missed.append(f"{check}: {'did not find its fault' if wanted else 'finds one where there is none'}")
    print("\n".join(missed) or "every check finds its fault")
    return 1 if missed else 0


def main():
    if sys.argv[1:] == ["--self-test"]:
        return self_test()
    if len(sys.argv) != 3 or sys.argv[2] not in CHECKS:
        print(__doc__, file=sys.stderr)
        return 2
    found = list(CHECKS[sys.argv[2]](pathlib.Path(sys.argv[1]).resolve()))
    print("\n".join(found) or f"{sys.argv[2]}: nothing found")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
