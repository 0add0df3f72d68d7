#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""Holds the manual (tools/manual) against what it is about: the sources, the program's own help, the job schema, and man itself.

Sources are searched for faults wherever they lie, so that they may be moved. ctest runs each class by its name and says in the environment where things are:
CHALKFOLD_SOURCE_DIR, CHALKFOLD_BINARY_DIR, CHALKFOLD_PROGRAM and CMAKE_COMMAND.
"""

import functools
import json
import os
import pathlib
import re
import subprocess
import tempfile
import unittest

SOURCE = pathlib.Path(os.environ["CHALKFOLD_SOURCE_DIR"])
BINARY = pathlib.Path(os.environ["CHALKFOLD_BINARY_DIR"])
PROGRAM = os.environ["CHALKFOLD_PROGRAM"]
MANUAL = SOURCE / "tools/manual"
CHAPTERS = sorted(MANUAL.glob("*.md"))


# --- The manual's chapters ---

def sections(text):
    """Of a chapter: heading -> what stands under it; headings of every level but the first."""
    parts = re.split(r"^##+ +(.*)$", re.sub(r"^```.*?^```$", "", text, flags=re.M | re.S), flags=re.M)
    return dict(zip(parts[1::2], parts[2::2]))


def definitions(text):
    """Of a chapter or section: every term in code -> its definition. A line of several terms gives each the same."""
    found = {}
    for terms, body in re.findall(r"^(`.*`)\n:   (.*(?:\n    .*)*)", text, flags=re.M):
        for term in re.findall(r"`([^`]+)`", terms):
            found[term] = re.sub(r"\s+", " ", body)
    return found


def chapter(name):
    return (MANUAL / f"{name}.md").read_text(encoding="utf-8")


# --- The sources ---

TOKEN = re.compile(r'R"(\w*)\(.*?\)\1"|"(?:\\.|[^"\\\n])*"|//[^\n]*|/\*.*?\*/', re.S)
CODE = r'"([a-z]+(?:-[a-z0-9]+)*)"'


def without_comments(text):
    return TOKEN.sub(lambda m: " " if m[0].startswith("/") else m[0], text)


@functools.cache
def sources():
    """Every header and source file with its text, comments taken out."""
    paths = [path for room in ("pipeline", "tools") for path in sorted((SOURCE / room).rglob("*"))]
    return [(path, without_comments(path.read_text(encoding="utf-8"))) for path in paths if path.suffix in (".h", ".cpp")]


# A function or lambda that makes a fault has a parameter `code`; calls of it are looked for in its own file, or everywhere when it stands in a header.
MAKER = re.compile(r"(\w+)\s*(?:=\s*\[[^\]]*\]\s*)?\([^()]*\b(?:char\s*\*|std::string\s*&?|std::string_view)\s*code\b[^()]*\)")


@functools.cache
def fault_codes():
    """Every code of a fault that the sources make."""
    files = sources()
    shared = {name for path, text in files if path.suffix == ".h" for name in MAKER.findall(text)}
    found = set()
    for _, text in files:
        found.update(re.findall(CODE + r"\s*,\s*[^,;{}\"]*Severity::\w+(?:\s*:\s*Severity::\w+)?\s*,", text))
        found.update(re.findall(r"\bcode\s*=\s*" + CODE, text))
        for name in shared | set(MAKER.findall(text)):
            found.update(re.findall(rf'\b{name}\s*\(\s*(?:[^"();]*,\s*)?{CODE}', text))
    return found


# Words with dashes in the sources that are something else than a fault's code.
NOT_CODES = {"sans-serif", "cut-outs"}


def other_words():
    """Words with dashes in the sources that might be codes: no option's name (check_range), no schema's, no layer's."""
    found = set()
    for _, text in sources():
        text = re.sub(r'check_range\(\s*"[^"]*"', "", text)
        found.update(word for word in re.findall(CODE, text) if "-" in word)
    return {w for w in found if not re.fullmatch(r"chalkfold-[a-z]+-\d+|layer-\d+", w)} - NOT_CODES


class Faults(unittest.TestCase):
    def setUp(self):
        self.described = set()
        for heading, text in sections(chapter("faults")).items():
            self.described |= set(definitions(text))

    def test_every_fault_of_the_sources_is_described(self):
        self.assertEqual(sorted(fault_codes() - self.described), [])

    def test_every_fault_described_is_in_the_sources(self):
        self.assertEqual(sorted(self.described - fault_codes()), [])

    def test_no_fault_is_made_in_a_way_that_is_not_seen_here(self):
        self.assertEqual(sorted(other_words() - fault_codes()), [],
                         "codes of faults that fault_codes() does not see, or words for NOT_CODES")

    def test_every_code_asked_for_is_made_somewhere(self):
        asked = {code for _, text in sources() for code in re.findall(r"\bcode\s*[!=]=\s*" + CODE, text)}
        self.assertGreater(len(asked), 5)
        self.assertEqual(sorted(asked - fault_codes()), [])


class ExitCodes(unittest.TestCase):
    def setUp(self):
        enums = [m for _, text in sources() for m in re.findall(r"enum class ExitCode[^{]*\{([^}]*)\}", text)]
        self.assertEqual(len(enums), 1)
        self.codes = set(re.findall(r"=\s*(\d+)", enums[0]))
        self.assertEqual(len(self.codes), len(re.findall(r"\w+\s*=", enums[0])))

    def test_of_the_program(self):
        self.assertEqual(set(definitions(sections(chapter("chalkfold"))["Exit status"])), self.codes)

    def test_of_the_commands(self):
        for name in ("sheets", "run", "lens", "compare"):
            with self.subTest(name):
                described = set(definitions(sections(chapter(name))["Exit status"]))
                self.assertGreater(len(described), 2)
                self.assertEqual(sorted(described - self.codes), [])

    def test_no_exit_code_is_written_as_a_bare_number(self):
        for path, text in sources():
            self.assertNotRegex(text, r"\bexit\(\s*[1-9]", path)


def help_of(*words):
    return subprocess.run([PROGRAM, *words, "--help"], capture_output=True, text=True, check=True).stdout


class Options(unittest.TestCase):
    def commands(self):
        listed = help_of().split("Subcommands:")[1]
        return re.findall(r"^  (\w+)", listed, flags=re.M)

    def described(self, name):
        """Options of a chapter, without what they take; --help is that of all commands."""
        terms = {t for text in sections(chapter(name)).values() for t in definitions(text)}
        return {re.split(r"[ =]", t)[0] for t in terms if t.startswith("-")}

    def test_every_command_has_a_chapter(self):
        self.assertEqual(set(definitions(sections(chapter("chalkfold"))["Commands"])), set(self.commands()))

    def test_of_the_program(self):
        options = set(re.findall(r"^  (-\w)?,?(--[\w-]+)", help_of(), flags=re.M))
        self.assertEqual(self.described("chalkfold"), {o for pair in options for o in pair if o})

    def test_of_the_commands(self):
        for name in self.commands():
            with self.subTest(name):
                options = set(re.findall(r"^  (?:-\w,)?(--[\w-]+)", help_of(name), flags=re.M)) - {"--help"}
                self.assertGreater(len(options), 2)
                self.assertEqual(self.described(name), options)


# Where the chapter of the job describes the keys of each object of the schema.
JOB_OBJECTS = {
    "": "Keys of the job",
    "photos": "Keys of a photo",
    "print": "Keys of print",
    "tape": "Keys of a tape distance",
    "defaults": "Keys of defaults",
    "panels": "Keys of a panel",
    "panels.photos": "Keys of a photo",
    "panels.reference": "Keys of a reference",
    "materials": "Keys of a material",
    "seams": "Keys of a seam",
    "set": "Keys of set",
    "sewing": "Keys of sewing",
}


class Job(unittest.TestCase):
    def setUp(self):
        [schema] = SOURCE.glob("pipeline/**/job.schema.json")
        self.schema = json.loads(schema.read_text(encoding="utf-8"))
        self.sections = sections(chapter("job"))
        self.objects = {}
        self.gather(self.schema, "")

    def inner(self, node):
        """A value's own schema and those of what is in it, references followed."""
        if "$ref" in node:
            node = self.schema["definitions"][node["$ref"].rsplit("/", 1)[1]]
        below = [*node.get("anyOf", []), node.get("items"), node.get("additionalProperties")]
        return [node] + [n for b in below if isinstance(b, dict) for n in self.inner(b)]

    def gather(self, node, path):
        for one in self.inner(node):
            if "properties" not in one:
                continue
            self.objects.setdefault(path, {}).update(one["properties"])
            for key, value in one["properties"].items():
                self.gather(value, f"{path}.{key}".lstrip("."))

    def test_the_chapter_knows_every_object(self):
        self.assertEqual(set(self.objects), set(JOB_OBJECTS))

    def test_every_key_is_described_and_no_other(self):
        for path, keys in self.objects.items():
            with self.subTest(path or "the job"):
                self.assertEqual(set(definitions(self.sections[JOB_OBJECTS[path]])), set(keys))

    def test_bounds_and_words_are_those_of_the_schema(self):
        checked = 0
        for path, keys in self.objects.items():
            if path == "defaults":  # as of a panel
                continue
            described = definitions(self.sections[JOB_OBJECTS[path]])
            for key, value in keys.items():
                for one in self.inner(value):
                    if "properties" in one:
                        break
                    with self.subTest(f"{path}.{key}"):
                        if "minimum" in one:
                            self.assertIn(f"{one['minimum']:g} to {one['maximum']:g}", described[key])
                        for word in one.get("enum", []):
                            self.assertIn(f"`{word}`", described[key])
                        checked += "minimum" in one or "enum" in one
        self.assertGreater(checked, 40)

    def test_examples_are_jobs_that_the_program_takes(self):
        examples = [(path.name, text) for path in CHAPTERS
                    for text in re.findall(r"^```json\n(.*?)^```$", path.read_text(encoding="utf-8"), flags=re.M | re.S)]
        self.assertGreater(len(examples), 5)
        examples.append(("a wrong one", '{"photos": ["one.jpg"], "sowing": {}}'))
        for name, text in examples:
            with self.subTest(name), tempfile.TemporaryDirectory() as folder:
                job = pathlib.Path(folder) / "job.json"
                job.write_text(text, encoding="utf-8")
                run = subprocess.run([PROGRAM, "run", str(job), "--out", f"{folder}/out", "--quiet"], capture_output=True, text=True)
                # Its photos are not there: a photo refused (1) or a measured panel that cannot be read (3).
                self.assertIn(run.returncode, {2} if name == "a wrong one" else {1, 3}, run.stderr)


def man(*words, **more):
    environment = {**os.environ, "MANWIDTH": "80", "LC_ALL": "C.UTF-8", "MANPAGER": "cat", "MANOPT": ""}
    return subprocess.run(["man", *words], capture_output=True, text=True, env=environment, **more)


class Pages(unittest.TestCase):
    def titles(self):
        """Chapter -> (page, section), as its first heading says."""
        return {p.name: re.search(r"^# (\S+)\((\d)\)$", p.read_text(encoding="utf-8"), flags=re.M).groups() for p in CHAPTERS}

    def test_man_shows_every_page_without_complaint_in_80_columns(self):
        self.assertGreater(len(CHAPTERS), 10)
        for name, (page, section) in self.titles().items():
            with self.subTest(page):
                shown = man("--warnings=w", "--encoding=UTF-8", "--local-file", str(BINARY / f"tools/manual/man{section}/{page}.{section}"))
                self.assertEqual((shown.returncode, shown.stderr), (0, ""))
                self.assertLessEqual(max(len(line) for line in shown.stdout.splitlines()), 80)
                self.assertIn(f"{page} - ", shown.stdout)

    def test_every_chapter_has_the_sections_of_a_man_page(self):
        for name, (page, section) in self.titles().items():
            with self.subTest(page):
                headings = list(sections((MANUAL / name).read_text(encoding="utf-8")))
                self.assertEqual(headings[0], "Name")
                self.assertEqual(headings[-1], "See also")
                self.assertIn("Description", headings)
                if section == "1":
                    self.assertLessEqual({"Synopsis", "Exit status", "Examples"}, set(headings))

    def test_installed_pages_are_found_by_name(self):
        with tempfile.TemporaryDirectory() as prefix:
            subprocess.run([os.environ["CMAKE_COMMAND"], "--install", str(BINARY), "--prefix", prefix, "--component", "manual"],
                           check=True, capture_output=True)
            for page, section in self.titles().values():
                with self.subTest(page):
                    found = man("-M", f"{prefix}/share/man", "--where", page)
                    self.assertEqual(found.stdout.strip(), f"{prefix}/share/man/man{section}/{page}.{section}", found.stderr)

    def test_links_lead_to_chapters_and_name_them_rightly(self):
        titles = self.titles()
        for path in CHAPTERS:
            for text, target, section in re.findall(r"\[([^\]]+)\]\((\w+\.md)\)\((\d)\)", path.read_text(encoding="utf-8")):
                self.assertEqual((re.sub(r"\s+", " ", text), section), titles.get(target), f"{path.name}: {target}")

    def test_readme_is_short_and_leads_to_every_chapter(self):
        readme = (SOURCE / "README.md").read_text(encoding="utf-8")
        self.assertLess(len(readme.splitlines()), 150)
        links = re.findall(r"\]\(([^)]+)\)", readme)
        self.assertEqual([link for link in links if not (SOURCE / link).exists()], [])
        self.assertEqual({pathlib.PurePath(link).name for link in links if link.endswith(".md")}, set(self.titles()))


if __name__ == "__main__":
    unittest.main()
