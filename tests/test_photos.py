"""Photographs beside a job: shown small and bare where they may be, told where they may not, and the report made either way.

Pictures are made here by Pillow with what cameras write into them (tags 0x010F Make, 0x0112 Orientation and 0x8825 GPS of Exif 2.32),
and read back from the report by Pillow and pypdf.
"""

import base64
import datetime as dt
import io
import os
import re
import socket
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from hearthcalc import cli, reference
from hearthcalc.assess import assess
from hearthcalc.job import Job, blank, set_entry
from hearthcalc.report import contents, html, markdown, pdf, photos, text, workbook
from hearthcalc.report.contents import Choice, Given
from hearthcalc.report.model import Report

EDITION = reference.load("irc-2021")
DAY = dt.date(2026, 5, 4)
SECRET = "Seventh Meridian Camera"


def picture(path: Path, size: tuple[int, int] = (1600, 2400)) -> Path:
    """A photograph lying on its side: red on top once it is turned upright, with a maker, a place and a comment in it."""
    image = Image.new("RGB", size, "blue")
    image.paste("red", (0, 0, size[0] // 2, size[1]))
    tags = Image.Exif()
    tags[0x010F], tags[0x0112] = SECRET, 6
    tags.get_ifd(0x8825)[1] = "N"
    image.save(path, "JPEG", exif=tags, comment=SECRET.encode())
    return path


def job_of(*rows: dict[str, str]) -> Job:
    return Job.from_document({**blank(), "photo": [*rows]})


def report_of(folder: Path | None, *rows: dict[str, str]) -> Report:
    job = job_of(*rows)
    given = Given(pictures=photos.load(job, folder))
    return contents.compose(assess(job, EDITION), job, EDITION, DAY, Choice(short=False), given)


def embedded(source: str) -> list[bytes]:
    return [base64.b64decode(found) for found in re.findall(r"data:image/jpeg;base64,([^\"]+)", source)]


def test_a_picture_is_shown_small_upright_and_without_what_the_camera_wrote(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    before = picture(tmp_path / "photos" / "mantel.jpg").read_bytes()
    assert SECRET.encode() in before
    report = report_of(
        tmp_path, {"file": "photos/mantel.jpg", "caption": "Soot over <the> jamb", "shows": "room"}
    )
    source, printed = html.write(report), pdf.write(report)
    (shown,) = embedded(source)
    (drawn,) = [one.data for page in PdfReader(io.BytesIO(printed)).pages for one in page.images]
    for data in (shown, drawn):
        with Image.open(io.BytesIO(data)) as image:
            assert image.size == (1200, 800)
            assert image.getpixel((600, 100))[0] > 200 > image.getpixel((600, 700))[0]  # type: ignore[index]
            assert not image.getexif() and not {"exif", "comment", "xmp", "icc_profile"} & set(image.info)
    assert SECRET.encode() not in shown + printed
    assert 'alt="Soot over &lt;the&gt; jamb (room)"' in source and "img-src data:" in source
    for told in (text.write(report), markdown.write(report).replace("\\", "")):
        assert "Soot over <the> jamb (room): photos/mantel.jpg" in told
    assert workbook.write(report)


def test_a_clear_picture_stands_on_white(tmp_path: Path) -> None:
    Image.new("RGBA", (40, 20), (255, 0, 0, 0)).save(tmp_path / "clear.png")
    (shown,) = photos.load(job_of({"file": "clear.png"}), tmp_path)
    with Image.open(io.BytesIO(shown.jpeg)) as image:
        assert image.size == (40, 20) and min(image.getpixel((20, 10))) > 250  # type: ignore[type-var,arg-type]


def a_socket(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as end:
        end.bind(str(path))


def cut_off(path: Path) -> None:
    path.write_bytes(picture(path).read_bytes()[:9000])


def too_large(path: Path) -> None:
    with path.open("wb") as file:
        file.truncate(photos.MOST_BYTES + 1)


def too_many_pixels(path: Path) -> None:
    Image.new("1", (30_000, 9_000)).save(path, "PNG")


BAD: dict[str, tuple[Callable[[Path], object], str]] = {
    "missing": (lambda path: None, "there is no such file"),
    "folder": (lambda path: path.mkdir(), "it is not a file"),
    "pipe": (os.mkfifo, "it is not a file"),
    "socket": (a_socket, "it cannot be opened|it is not a file"),
    "device by a link": (lambda path: path.symlink_to("/dev/zero"), "it lies outside the job's own folder"),
    "outside by a link": (lambda path: path.symlink_to(picture(path.parent.parent / "else.jpg")), "it lies outside"),
    "a link to itself": (lambda path: path.symlink_to(path), "it cannot be opened|no such file"),
    "not a picture": (lambda path: path.write_text("<svg onload='x'/>"), "it is not a picture that can be read here"),
    "empty": (lambda path: path.touch(), "it is not a picture"),
    "cut off": (cut_off, "the picture is damaged or cut off"),
    "too large": (too_large, "the file is larger than 40 MB"),
    "a bomb": (too_many_pixels, "it has more than 80 million pixels"),
}  # fmt: skip


@pytest.mark.parametrize("what", BAD)
def test_what_cannot_be_shown_is_told_and_the_report_is_made(what: str, tmp_path: Path) -> None:
    make, why = BAD[what]
    folder = tmp_path / "job"
    folder.mkdir()
    make(folder / "x.jpg")
    picture(folder / "good.jpg", (300, 200))
    report = report_of(folder, {"file": "x.jpg"}, {"file": "good.jpg"})
    assert re.search(f"x.jpg: not shown, ({why})", text.write(report, 400))
    assert "not shown" in html.write(report) and len(embedded(html.write(report))) == 1


@pytest.mark.parametrize(
    ("file", "why"),
    [
        ("../else.jpg", "it lies outside the job's own folder"),
        ("a/../../else.jpg", "it lies outside the job's own folder"),
        ("../no-such.jpg", "it lies outside the job's own folder"),
        ("/dev/zero", "the path has to start in the job's own folder"),
        ("C:\\else.jpg", "the path has to start in the job's own folder"),
        ("\\\\host\\share\\else.jpg", "the path has to start in the job's own folder"),
        ("x" * 5000, "it cannot be opened: file name too long"),
        ("", "no file is named"),
    ],
)
def test_a_path_that_leads_elsewhere_is_not_followed(file: str, why: str, tmp_path: Path) -> None:
    picture(tmp_path / "else.jpg", (300, 200))
    (tmp_path / "job").mkdir()
    (told,) = photos.load(job_of({"file": file}), tmp_path / "job")
    assert (told.why, told.jpeg) == (why, b"")


def test_a_job_without_a_file_has_no_folder_to_look_in() -> None:
    (told,) = photos.load(job_of({"file": "x.jpg"}), None)
    assert told.why == "the job was not read from a file, so it has no folder to look in"


def test_no_more_pictures_are_read_than_a_report_has_room_for(tmp_path: Path) -> None:
    picture(tmp_path / "x.jpg", (60, 40))
    loaded = photos.load(job_of(*({"file": "x.jpg"} for _ in range(62))), tmp_path)
    assert [one.why for one in loaded] == [""] * 60 + ["only 60 pictures fit"] * 2


def test_a_picture_of_what_the_job_does_not_have_says_so(tmp_path: Path) -> None:
    (told,) = photos.load(job_of({"file": "x.jpg", "shows": "attic"}), tmp_path)
    assert told.line == "photo (attic, which the job does not have)"
    renamed = set_entry({**blank(), "photo": [{"file": "x.jpg", "shows": "room"}]}, "face.room.name", "study")
    assert renamed["photo"] == [{"file": "x.jpg", "shows": "study"}]


def test_without_pillow_the_report_says_what_to_install(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    picture(tmp_path / "x.jpg", (60, 40))
    monkeypatch.setitem(__import__("sys").modules, "PIL", None)
    (told,) = photos.load(job_of({"file": "x.jpg"}), tmp_path)
    assert told.why == "it needs the package pillow; python3 -m pip install 'hearthcalc[report]' brings it"


def test_pictures_that_were_exchanged_are_told_by_verify(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    job, out = tmp_path / "job.toml", tmp_path / "r.html"
    job.write_text(
        'format = "hearthcalc-job"\nversion = 1\n[[face]]\nname = "room"\n[[photo]]\nfile = "x.jpg"\n[[photo]]\nfile = "no.jpg"\n'
    )
    picture(tmp_path / "x.jpg", (60, 40))
    cli.main(["report", str(job), "-o", str(out), "--short"])
    assert "no.jpg: not shown, there is no such file." in capsys.readouterr().err
    assert cli.main(["verify", str(out), str(job)]) == 0
    picture(tmp_path / "x.jpg", (80, 40))
    capsys.readouterr()
    assert cli.main(["verify", str(out), str(job)]) == 1
    assert capsys.readouterr().out == "The picture files beside the job have changed.\n"
