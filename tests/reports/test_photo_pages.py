"""Photos in the day's report and the dossier: which are shown, with what below, and what is passed on of them."""

import io
import re

import pypdf
import pytest
from PIL import Image

from sitebot.acts import Act
from sitebot.entries import PhotoKept, PhotoPlaced
from sitebot.photos import examine
from sitebot.reports import typeset
from sitebot.reports.attachment import attachment
from sitebot.reports.document import Shots
from sitebot.respond.report import answer as report_answer
from tests.reports.conftest import DAY, PELL, THORA
from tests.reports.photography import GPS_WORD, jpeg
from tests.reports.test_daily import report
from tests.reports.test_dossier import of


def keep(job, clock, by, data, **shown):
    """A photo as the road keeps it; its hash."""
    found = examine(data)
    job.journal.photos.put(data)
    fields = {k: getattr(found, k) for k in ("sha256", "mime", "size", "width", "height", "taken")}
    job.tell(clock, by, PhotoKept(day=DAY, **fields, **shown))
    return found.sha256


@pytest.fixture
def seen(day):
    """The full day with photos of the reject, its redo, an accepted one, the sample and one nobody placed."""
    day.names = {
        "reject": keep(day, "13:21", THORA, jpeg(800, 600, seed=1, noise=True, gps=True), numbers=(2,)),
        "redo": keep(day, "13:22", PELL, jpeg(600, 800, seed=2, noise=True), numbers=(4,)),
        "good": keep(day, "13:23", PELL, jpeg(seed=3, noise=True), numbers=(1,)),
        "sample": keep(day, "13:24", PELL, jpeg(seed=4, noise=True), of="sample"),
        "loose": keep(day, "13:25", PELL, jpeg(seed=5, noise=True)),
    }
    return day


def shots_of(document):
    return [s for b in document.blocks if isinstance(b, Shots) for s in b.shots]


def pdf_of(job, descriptor, language="en"):
    data = job.reading(lambda desk, head: attachment(descriptor, desk, head, language, job.journal.photos).data)
    reader = pypdf.PdfReader(io.BytesIO(data))
    return data, reader, re.sub(r"\s+", "", " ".join(page.extract_text() for page in reader.pages))


def test_the_day_shows_rejects_and_rework(seen):
    """The rejected splice and its redo, each with number, verdict and sender; not the accepted one."""
    found = {s.sha256: s.caption for s in shots_of(report(seen))}
    assert found == {
        seen.names["reject"]: "No. 2, rejected: not bonded. Thora, 1:21 pm",
        seen.names["redo"]: "No. 4, redo of 2, not inspected yet. Pell, 1:22 pm",
    }


def test_a_photo_nobody_placed_is_a_doubtful_entry(seen):
    """It is named with who sent it and when, until somebody says what it shows."""
    line = f"A photo without a splice: Pell, 1:25 pm, hash {seen.names['loose'][:12]}."
    assert line in [x for b in report(seen).blocks for x in getattr(b, "lines", ())]
    seen.tell("13:30", PELL, PhotoPlaced(sha256=seen.names["loose"], of="none"))
    assert line not in [x for b in report(seen).blocks for x in getattr(b, "lines", ())]


def test_the_dossier_shows_everything_of_its_place(seen):
    """The sample of its days, then each splice of the place in order; nothing of another place."""
    other = keep(seen, "13:26", PELL, jpeg(seed=6, noise=True), numbers=(5,))
    found = [s.sha256 for s in shots_of(of(seen, "east wall"))]
    assert found == [seen.names[n] for n in ("sample", "good", "reject", "redo")]
    assert other in [s.sha256 for s in shots_of(of(seen, "cámara sur"))]


@pytest.mark.parametrize("language", ["en", "es"])
def test_captions_and_hashes_stand_in_the_pdf(seen, language):
    """The text taken out of the PDF holds each caption and each whole hash, and there is a picture to each."""
    document = report(seen, language)
    _, reader, text = pdf_of(seen, {"report": DAY}, language)
    for shot in shots_of(document):
        assert re.sub(r"\s+", "", shot.caption) in text
        assert shot.sha256 in text
    pictures = [image for page in reader.pages for image in page.images]
    assert sorted(image.image.size for image in pictures) == [(300, 400), (400, 300)]


def test_nothing_of_the_cameras_place_is_in_the_pdf(seen):
    """No GPS, no EXIF: neither the file nor a picture taken out of it has any."""
    data, reader, _ = pdf_of(seen, {"report": DAY})
    assert GPS_WORD not in data
    for image in (i for page in reader.pages for i in page.images):
        assert GPS_WORD not in image.data
        with Image.open(io.BytesIO(image.data)) as picture:
            assert not picture.getexif()


def test_a_report_with_photos_is_still_for_the_archive(seen):
    """PDF/A-2a, and the same record gives the same bytes."""
    first, reader, _ = pdf_of(seen, {"report": DAY})
    assert "pdfaid" in reader.xmp_metadata.stream.get_data().decode()
    assert first == pdf_of(seen, {"report": DAY})[0]


def test_a_photo_whose_file_is_gone_leaves_its_place(seen):
    """The report is made all the same, with the words "file missing" and the hash."""
    folder = seen.journal.photos
    folder.original(seen.names["reject"]).unlink()
    _, reader, text = pdf_of(seen, {"report": DAY})
    assert "filemissing" in text
    assert seen.names["reject"] in text
    assert sum(len(page.images) for page in reader.pages) == 1


def test_very_many_photos_of_a_day_are_cut_with_a_word(seen):
    """A day's report stays a few pages: twelve are shown, and it says how many more the dossier holds."""
    for n in range(14):
        keep(seen, "14:00", PELL, jpeg(seed=20 + n, noise=True), numbers=(2,))
    document = report(seen)
    assert len(shots_of(document)) == 12
    assert "4 more stand in the dossier" in pdf_text(typeset.pdf(document, seen.journal.photos))


def pdf_text(data):
    return " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(data)).pages).split())


def test_a_photo_asked_for_is_passed_on_without_its_place(seen):
    """ "Send me the photo of 2": how many there are, and the latest; as a copy without GPS, never the original."""
    asked = Act("ask_report", {"about": "photos", "numbers": [2]})
    answer = seen.reading(lambda desk, head: report_answer(asked, desk))
    assert answer.picture == {"photo": seen.names["reject"]}
    data = seen.reading(lambda desk, head: attachment(answer.picture, desk, head, "en", seen.journal.photos)).data
    assert GPS_WORD not in data
    with Image.open(io.BytesIO(data)) as image:
        assert (image.format, image.size) == ("JPEG", (800, 600))
        assert not image.getexif()


def test_no_photo_is_said(seen):
    """Of a splice without one there is nothing to send."""
    asked = Act("ask_report", {"about": "photos", "numbers": [3]})
    answer = seen.reading(lambda desk, head: report_answer(asked, desk))
    assert (answer.says[0].key, answer.picture) == ("report.photos_none", None)
