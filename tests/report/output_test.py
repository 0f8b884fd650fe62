# property: a report is complete or absent, whatever fails; exit codes as in docs/cli.md
import os
import pathlib
import resource
import subprocess

from support import FIXTURES, TOOL, ReportTest, main, run

JOB = FIXTURES / "astm-e11-17.yaml"


class Output(ReportTest):
    def names(self, folder=None):
        return sorted(path.name for path in (folder or self.folder).iterdir())

    def refused(self, code, *arguments):
        done = run("check", JOB, *arguments, code=code)
        self.assertEqual(done.stdout, b"")
        self.assertTrue(done.stderr)
        return done.stderr.decode()

    def test_every_writer_at_once(self):
        reports = [self.folder / f"r.{ending}" for ending in ("txt", "md", "json", "html", "htm")]
        options = [word for report in reports for word in ("--report", report)]
        done = run("check", JOB, *options, code=0)
        self.assertEqual(self.names(), sorted(report.name for report in reports))
        self.assertEqual(done.stdout, run("check", JOB, code=0).stdout)

    def test_a_folder_that_does_not_exist(self):
        self.assertIn("No such file", self.refused(73, "--report", self.folder / "none" / "r.txt"))

    def test_a_path_under_a_file(self):
        (self.folder / "file").write_text("x")
        self.refused(73, "--report", self.folder / "file" / "r.txt")
        self.assertEqual(self.names(), ["file"])

    def test_a_folder_in_the_place_of_the_report(self):
        (self.folder / "r.txt").mkdir()
        self.assertIn("directory", self.refused(73, "--report", self.folder / "r.txt"))
        self.assertEqual(self.names(), ["r.txt"])

    def test_a_folder_without_the_right_to_write(self):
        closed = self.folder / "closed"
        closed.mkdir(mode=0o555)
        self.folder.chmod(0o755)
        if os.geteuid() != 0:
            self.assertIn("ermission", self.refused(73, "--report", closed / "r.txt"))
        else:  # root can write anywhere: run as another user
            job = self.folder / "job.yaml"
            job.write_bytes(JOB.read_bytes())
            tool = self.folder / "tool"
            tool.write_bytes(TOOL.read_bytes())
            tool.chmod(0o755)
            done = subprocess.run([tool, "check", job, "--report", closed / "r.txt"], capture_output=True, user=65534, group=65534)
            self.assertEqual((done.returncode, done.stdout), (73, b""))
            self.assertIn(b"ermission", done.stderr)
        self.assertEqual(self.names(closed), [])

    def test_a_full_device(self):
        os.symlink("/dev/full", self.folder / "r.txt")
        self.assertIn("No space", self.refused(74, "--report", self.folder / "r.txt"))

    def test_a_disk_that_fills_up_leaves_what_was_there(self):
        report = self.folder / "r.html"
        report.write_text("the report before")
        limit = lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))
        ignore = "import signal, os, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); os.execv(sys.argv[1], sys.argv[1:])"
        done = subprocess.run(["python3", "-c", ignore, TOOL, "check", JOB, "--report", report, "--overwrite"], capture_output=True, preexec_fn=limit)
        self.assertEqual((done.returncode, done.stdout), (74, b""))
        self.assertEqual(report.read_text(), "the report before")
        self.assertEqual(self.names(), ["r.html"])

    def test_an_older_report_is_replaced_whole(self):
        report = self.folder / "r.txt"
        report.write_text("x" * 100_000)
        run("check", JOB, "--report", report, "--overwrite", code=0)
        self.assertEqual(report.read_bytes(), self.report("astm-e11-17", "txt", name="new"))

    def test_no_report_where_the_readings_are_wrong(self):
        job = self.job("astm-e11-17", {"warp,88.5,": "warp,88..5,"})
        run("check", job, "--report", self.folder / "r.txt", code=65)
        self.assertEqual(self.names(), ["job.yaml"])

    def test_usage(self):
        for arguments in (["--report", "r.doc"], ["--report", "r"], ["--annex", "all", "--report", "r.txt"],
                          ["--template", "t.pdf", "--report", "r.pdf"]):
            self.refused(64, *arguments)
        self.refused(66, "--laboratory", self.folder / "none.yaml", "--report", self.folder / "r.txt")

    def test_the_readings_are_never_replaced(self):
        readings = self.folder / "readings.txt"
        readings.write_text("direction,aperture_um\nwarp,75\nweft,75\n")
        before = readings.read_bytes()
        run("check", readings, "--standard", "astm-e11-17", "--size", "75um", "--grade", "inspection", "--report", readings, "--overwrite", code=73)
        self.assertEqual(readings.read_bytes(), before)


if __name__ == "__main__":
    main(10)
