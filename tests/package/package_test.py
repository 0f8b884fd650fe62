#!/usr/bin/env python3
# property: the installed package is usable: found, moved, linked statically and shared, from C++, C and Python, and as a Debian package
"""package_test.py BUILD WORK PART...: builds consumers against what BUILD installs, in the folder WORK.

Parts: static, subdirectory, cross, deb; shared, of a BUILD with shared libraries. Every example must print the same lines: one simulated rig
in three languages.
"""
import os
import pathlib
import re
import shutil
import subprocess
import sys

from hardening_test import weaknesses

ROOT = pathlib.Path(__file__).resolve().parents[2]
HERE = ROOT / "tests" / "package"
EXAMPLES = ROOT / "docs" / "examples" / "rig"
VERSION = re.search(r"^project\(sievecloth VERSION (\d+)\.(\d+)\.(\d+) ", (ROOT / "CMakeLists.txt").read_text(), re.M)
FAILED = []


def run(*command, cwd=None, environment=None, code=0):
    done = subprocess.run([str(word) for word in command], cwd=cwd, env=os.environ | (environment or {}), capture_output=True, text=True,
                          timeout=3000, check=False)
    if done.returncode != code:
        raise SystemExit(f"{' '.join(map(str, command))}: exit code {done.returncode}, expected {code}\n{done.stdout[-3000:]}{done.stderr[-3000:]}")
    return done.stdout


def check(condition, message):
    if not condition:
        FAILED.append(message)


def fresh(path):
    shutil.rmtree(path, ignore_errors=True)
    path.mkdir(parents=True)
    return path


def settings(build_folder):
    """The main build's own: with a compiler cache, what it has compiled is not compiled again."""
    cache = (build_folder / "CMakeCache.txt").read_text()
    names = ("CMAKE_BUILD_TYPE", "CMAKE_CXX_COMPILER", "CMAKE_CXX_COMPILER_LAUNCHER", "CMAKE_CXX_FLAGS", "SIEVECLOTH_WERROR")
    values = [(name, re.search(rf"^{name}:\w+=(.+)$", cache, re.M)) for name in names]
    return [f"-D{name}={value[1]}" for name, value in values if value]


def build(source, folder, *options):
    run("cmake", "-S", source, "-B", fresh(folder), "-G", "Ninja", "-DCMAKE_BUILD_TYPE=Debug", f"-DEXAMPLES={EXAMPLES}", *options)
    run("cmake", "--build", folder)
    return folder


def installed(build_folder, work):
    """An installed tree that was moved after it was installed."""
    first, moved = work / "first", work / "moved here"
    shutil.rmtree(moved, ignore_errors=True)
    run("cmake", "--install", build_folder, "--prefix", fresh(first))
    first.rename(moved)
    for text in [*moved.rglob("*.cmake"), *moved.rglob("*.pc")]:
        check(str(ROOT) not in text.read_text() and str(first) not in text.read_text(), f"{text.name} names a folder of this machine")
    return moved


def library_folder(tree):
    return next(tree.rglob("pkgconfig")).parent


def same_rig(name, printed, expected):
    check(printed == expected, f"{name} printed {printed!r}, expected {expected!r}")


def consume(tree, work, shared):
    """The C++ and C consumers and what they print."""
    found = f"-DCMAKE_PREFIX_PATH={tree}"
    cxx = build(HERE / "cxx", work / "cxx", found)
    expected = run(cxx / "rig", work / "snapshot")
    check(re.match(r"verdict conforms\nwarp n 240 mean_um 7\d\.\d+ s_um \d\.\d+\nweft n 240 ", expected), f"rig.cpp printed {expected!r}")
    run("cmake", "-S", HERE / "components", "-B", fresh(work / "components"), "-G", "Ninja", found)
    parts = run(cxx / "parts")
    check("undecided" in parts, f"parts printed {parts!r}")
    linked = run("ldd", cxx / "rig")
    check(("libsievecloth.so" in linked) == shared, f"the consumer is linked against {linked}")
    c = build(HERE / "c", work / "c", found)
    same_rig("rig.c", run(c / "rig"), expected)
    return expected


def draws_pdf(tool, tree, work):
    """The tool finds the module that draws PDF in its own tree, wherever that stands, and takes it rather than one beside the program."""
    report = work / "report.pdf"
    module = next(tree.rglob("sievecloth/sievecloth-pdf.so"))
    beside = tool.parent / module.name
    shutil.copy(module, beside)
    run(tool, "check", ROOT / "docs/examples/good-75um.yaml", "--report", report,
        environment={"LD_DEBUG": "files", "LD_DEBUG_OUTPUT": str(work / "loaded")})
    check("ASTM E11-17" in run("pdftotext", report, "-"), f"the PDF of {tool} does not say what it is about")
    loaded = "".join(file.read_text() for file in work.glob("loaded.*"))
    modules = set(re.findall(r"calling init: (\S.*sievecloth-pdf\.so)", loaded))
    check([pathlib.Path(loaded_module).resolve() for loaded_module in modules] == [module.resolve()], f"{tool} loaded {modules}")
    beside.unlink()


def with_pkg_config(tree, work, expected, shared):
    """The same without CMake."""
    folder = fresh(work / "pkg-config")
    settings = {"PKG_CONFIG_PATH": str(library_folder(tree) / "pkgconfig"), "LD_LIBRARY_PATH": str(library_folder(tree))}

    def flags(*words):
        return re.findall(r"(?:\\.|\S)+", run("pkg-config", *words, environment=settings))

    def unescaped(words):
        return [word.replace("\\", "") for word in words]

    run("gcc", "-std=c11", "-Wall", "-Werror", EXAMPLES / "rig.c", "-o", folder / "c", *unescaped(flags("--cflags", "--libs", "sievecloth-c")))
    same_rig("rig.c by pkg-config", run(folder / "c", environment=settings), expected)
    run("g++", "-std=c++20", "-pthread", EXAMPLES / "rig.cpp", "-o", folder / "cxx",
        *unescaped(flags("--cflags", "--libs", *([] if shared else ["--static"]), "sievecloth")))
    same_rig("rig.cpp by pkg-config", run(folder / "cxx", environment=settings), expected)
    version = run("pkg-config", "--modversion", "sievecloth", environment=settings).strip()
    check(version == ".".join(VERSION.groups()), f"pkg-config says version {version}")


def c_library_stands_alone(library):
    """It holds the core; of others it needs zlib and the compiler's own."""
    needed = re.findall(r"NEEDED +(\S+)", run("objdump", "-p", library))
    foreign = [name for name in needed if not re.match(r"(libz|libstdc\+\+|libgcc_s|libm|libc|ld-linux\S*)\.so", name)]
    check(not foreign, f"the C library needs {foreign}")
    check("libsievecloth_c.so.2\n" in run("objdump", "-p", library), "the C library's soname is not libsievecloth_c.so.2")


def manual_knows_every_verb(tool, manual):
    rendered = run("groff", "-man", "-Tutf8", "-P-cbou", "-ww", manual)
    verbs = re.findall(r"^  ([a-z]+)\s", run(tool, "--help").split("\nVerbs:")[1], re.M)
    check(len(verbs) >= 8, f"the help lists the verbs {verbs}")
    for verb in verbs:
        check(f"SIEVECLOTH {verb.upper()}\n" in rendered, f"the manual page does not know {verb}")


def part_static(build_folder, work):
    tree = installed(build_folder, work)
    expected = consume(tree, work, shared=False)
    with_pkg_config(tree, work, expected, shared=False)
    library = next(tree.rglob("libsievecloth_c.so"))
    same_rig("rig.py", run(sys.executable, "-B", EXAMPLES / "rig.py", library), expected)
    c_library_stands_alone(library)
    tool = next(tree.rglob("bin/sievecloth"))
    check("conforms" in run(tool, "check", ROOT / "docs/examples/good-75um.yaml"), "the installed tool does not check")
    check(run(tool, "--version").split()[1] == ".".join(VERSION.groups()), "the tool says another version")
    check(f"\n- {'.'.join(VERSION.groups())}" in (ROOT / "docs/changelog.md").read_text(), "docs/changelog.md does not know this version")
    draws_pdf(tool, tree, work)
    manual_knows_every_verb(tool, next(tree.rglob("sievecloth.1")))


def part_shared(build_folder, work):
    tree = installed(build_folder, work)
    expected = consume(tree, work, shared=True)
    with_pkg_config(tree, work, expected, shared=True)
    for library in tree.rglob("libsievecloth*.so"):
        for weakness in weaknesses(library, optimised=False):
            check(False, weakness)
        if library.name == "libsievecloth_c.so":
            c_library_stands_alone(library)
            continue
        soname = run("objdump", "-p", library)
        check(re.search(rf"SONAME +\S+\.so\.{VERSION[1]}\.{VERSION[2]}\n", soname), f"{library.name} has no soname with the version")
    libraries = sorted(tree.rglob("libsievecloth*.so"), key=lambda library: library.name != "libsievecloth_c.so")
    run(sys.executable, "-B", HERE / "symbols_test.py", *libraries)
    tool = next(tree.rglob("bin/sievecloth"))
    check("libsievecloth" not in run("ldd", tool), "the tool needs a library that shows less than the tool calls")
    run(tool, "check", "no-such-file.csv", code=66)
    draws_pdf(tool, tree, work)


def part_subdirectory(build_folder, work):
    def configure(name, *options):
        run("cmake", "-S", HERE / "subdirectory", "-B", fresh(work / name), "-G", "Ninja", *settings(build_folder), f"-DSIEVECLOTH={ROOT}",
            f"-DEXAMPLES={EXAMPLES}", f"-DCMAKE_INSTALL_PREFIX={work / 'nothing'}", *options)
        return work / name

    folder = configure("fetched", "-DFETCH=ON")
    run("cmake", "--build", folder,)
    check(run(folder / "rig").startswith("verdict conforms\n"), "the consumer that fetched the library")
    run("cmake", "--install", folder)
    check(not (work / "nothing").exists(), "a subdirectory installs what its user did not ask for")
    configure("folder")


def part_cross(build_folder, work):
    """A build for another system, as CMake sees it, with the tablegen of this one."""
    tablegen = build_folder / "tools/tablegen/tablegen"
    options = ["-G", "Ninja", *settings(build_folder), "-DCMAKE_SYSTEM_NAME=Linux", "-DSIEVECLOTH_BUILD_TESTS=OFF", "-DSIEVECLOTH_PDF=OFF"]
    run("cmake", "-S", ROOT, "-B", fresh(work / "without"), *options, code=1)
    run("cmake", "-S", ROOT, "-B", work / "with", *options, f"-DSIEVECLOTH_TABLEGEN={tablegen}")
    run("cmake", "--build", work / "with", "--target", "lib/built_in_editions.cpp")
    made = [(folder / "lib/built_in_editions.cpp").read_bytes() for folder in (build_folder, work / "with")]
    check(made[0] == made[1], "the tables differ where tablegen was named")
    check("report/wording" in (work / "with/lib/cmake_install.cmake").read_text(), "without PDF the German wording is not installed")
    check(not list((work / "with").rglob("tablegen*/*.o")), "tablegen is built for a system that it cannot run on")


def part_deb(build_folder, work):
    before = os.umask(0)  # of a builder who has none: others must not be able to put in what programs load
    run("cpack", "--config", build_folder / "CPackConfig.cmake", "-B", fresh(work / "made"))
    os.umask(before)
    package = next((work / "made").glob("sievecloth_*.deb"))
    fields = run("dpkg-deb", "--field", package)
    check("libcairo2" in fields and "libqpdf" in fields and "libc6" in fields, f"the package depends on {fields}")
    tree = fresh(work / "root")
    run("dpkg", "-x", package, tree)
    open_to_others = [line for line in run("dpkg-deb", "--contents", package).splitlines() if line[0] != "l" and "w" in line[4:10]]
    check(not open_to_others, f"others can write to {open_to_others[:5]}")
    tool = tree / "usr/bin/sievecloth"
    check(run(tool, "--version").startswith("sievecloth "), "the tool of the package")
    check("conforms" in run(tool, "check", ROOT / "docs/examples/good-75um.yaml"), "the tool of the package does not check")
    run(tool, "check", ROOT / "docs/examples/worn-75um.yaml", code=1)
    draws_pdf(tool, tree, work)
    manual_knows_every_verb(tool, tree / "usr/share/man/man1/sievecloth.1")
    check((tree / "usr/share/doc/sievecloth/copyright").is_file(), "the package has no copyright file")
    c = build(HERE / "c", work / "c", f"-DCMAKE_PREFIX_PATH={tree / 'usr'}")
    check(run(c / "rig").startswith("verdict conforms\n"), "the consumer of the package")


def main():
    build_folder, work, *parts = sys.argv[1:]
    for part in parts:
        globals()["part_" + part](pathlib.Path(build_folder).resolve(), fresh(pathlib.Path(work).resolve() / part))
    for message in FAILED:
        print(message, file=sys.stderr)
    print("failed" if FAILED else "passed")
    sys.exit(1 if FAILED else 0)


if __name__ == "__main__":
    main()
