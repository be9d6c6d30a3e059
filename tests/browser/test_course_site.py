"""A page of the course with Python behind it, from a plain static server: complete, without a foreign request, and kept."""

from __future__ import annotations

import gzip
import hashlib
import re
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID
from playwright.sync_api import Locator, Page, Route, expect

from gearkit.lesson.syllabus import LESSONS
from gearkit.site import course_site, pyodide_files
from gearkit.site.browser_python import compiled_modules
from gearkit.site.sheet_pages import copies_in
from graders.mark import batch
from graders.take_in import take_in
from tests.browser import lab
from tests.browser.accessible import named_controls, violations
from tests.graders.classroom import CLASS, Classroom
from tests.support.amounts import SHORT
from tests.support.static_server import served

pytestmark = [pytest.mark.browser, pytest.mark.slow]
SOME = ["03"] if SHORT else list(LESSONS)
READY_MILLISECONDS = 240_000


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("site")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(course_site, "LESSONS", {number: LESSONS[number] for number in SOME})
        made = course_site.build()
    if "no registry can be reached" in made.lacks:
        pytest.skip(made.lacks)
    assert made.lacks == ""
    # A step of Node.js that fails leaves a site that works, only slower, so nothing else would tell.
    assert course_site.IMAGE in made.files
    library = made.files[f"python/{compiled_modules.LIBRARY}"]
    assert hashlib.sha256(library).hexdigest() != pyodide_files.HASHES[compiled_modules.LIBRARY]
    course_site.write(made, folder)
    with served(folder) as base:
        yield base


@pytest.fixture
def page(site: str) -> Iterator[Page]:
    with lab.browser_page(390, 844) as shown:
        troubles: list[str] = []

        def own_only(route: Route) -> None:
            if route.request.url.startswith((site, "data:", "blob:")):
                route.continue_()
            else:
                troubles.append(route.request.url)
                route.abort()

        shown.on("pageerror", lambda fault: troubles.append(str(fault)))
        # That an image is missing is what one test makes.
        shown.on(
            "console",
            lambda told: told.type == "error" and "image.bin" not in told.location["url"] and troubles.append(told.text),
        )
        shown.context.route("**/*", own_only)
        yield shown
        assert troubles == []


def opened(page: Page, site: str, number: str) -> None:
    page.goto(f"{site}/{LESSONS[number].folder}.html")
    expect(page.locator("html[data-panels=live]")).to_be_attached()
    expect(page.locator("html[data-python=ready]")).to_be_attached(timeout=READY_MILLISECONDS)


def exercise(page: Page, name: str) -> Locator:
    return page.get_by_role("region", name=f"Exercise {name}", exact=True)


def test_a_learner_predicts_while_python_loads_and_finds_all_work_again_without_a_network(page: Page, site: str) -> None:
    page.goto(f"{site}/{LESSONS['03'].folder}.html")
    expect(page.locator("html[data-python=loading]")).to_be_attached()
    expect(page.locator("#gk-python")).to_contain_text("panels work already")
    predict = page.get_by_role("region", name="Predict: one set", exact=True)
    predict.get_by_role("radio", name="forward reduction").check()
    predict.get_by_role("textbox", name="Ratio").fill("3.6")
    page.keyboard.press("Enter")
    expect(predict).to_contain_text("Found: forward reduction, ratio 18/5 = 3.6")
    expect(page.locator("html[data-python=ready]")).to_be_attached(timeout=READY_MILLISECONDS)
    answer = exercise(page, "L03-02").get_by_role("textbox")
    answer.fill("1 + R/S")
    expect(exercise(page, "L03-02")).to_contain_text("read as")
    page.keyboard.press("Enter")
    expect(exercise(page, "L03-02").get_by_role("status")).to_contain_text("Right")
    expect(page.locator("#l03-progress")).to_contain_text("1 of 13 exercises done, 1 prediction made")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    regions, controls = named_controls(page, "Explore", "Predict", "Exercise")
    assert regions == 15
    assert controls > 100
    page.evaluate("navigator.serviceWorker.ready")
    page.context.set_offline(True)
    opened(page, site, "03")
    expect(page.locator("html[data-python-from=image]")).to_be_attached()
    expect(exercise(page, "L03-02").get_by_role("textbox")).to_have_value("1 + R/S")
    predict.get_by_text("My predictions so far").click()
    expect(predict.get_by_role("listitem")).to_contain_text("you said forward reduction, 3.6; found forward reduction, 18/5")
    page.goto(f"{site}/index.html")
    expect(page.locator("#gk-offline")).to_contain_text("they work without a network")
    expect(page.get_by_role("listitem").filter(has_text="Lesson 3:")).to_contain_text(
        re.compile("1 of 13 exercises done, 1 prediction(?!s)")
    )


# In the short form the others open the one lesson that is there.
@pytest.mark.parametrize("number", SOME[1:])
def test_every_lesson_is_complete_behind_its_page(number: str, page: Page, site: str) -> None:
    opened(page, site, number)
    expect(page.get_by_text(course_site.WAITING)).to_have_count(0)
    for look in ("light", "dark"):
        page.emulate_media(color_scheme=look)
        assert violations(page) == [], look
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("fault", ["damaged"] if SHORT else ["damaged", "missing", "of another version"])
def test_python_starts_as_anywhere_where_its_memory_image_is_of_no_use(fault: str, page: Page, site: str) -> None:
    def given(route: Route) -> None:
        if fault == "missing":
            route.fulfill(status=404)
            return
        whole = bytearray(route.fetch().body())
        if fault == "damaged":
            whole[len(whole) // 2] ^= 1
        else:
            whole = bytearray(gzip.compress(b"0" * 16 + gzip.decompress(whole)[16:], compresslevel=1))
        route.fulfill(status=200, body=bytes(whole))

    page.context.route("**/image.bin", given)
    opened(page, site, "03")
    expect(page.locator("html[data-python-from=start]")).to_be_attached()
    answer = exercise(page, "L03-02").get_by_role("textbox")
    answer.fill("1 + R/S")
    expect(exercise(page, "L03-02")).to_contain_text("read as")


@pytest.mark.skipif(SHORT, reason="numbers come from the machine's own chance, which no image holds")
def test_two_learners_draw_numbers_of_their_own_from_one_image(page: Page, site: str) -> None:
    opened(page, site, "03")
    shown = exercise(page, "L03-04").inner_text()
    browser = page.context.browser
    assert browser is not None
    with browser.new_page() as other:
        opened(other, site, "03")
        assert exercise(other, "L03-04").inner_text() != shown


def test_without_python_a_page_says_so_wherever_something_needs_it(page: Page, site: str) -> None:
    page.goto("about:blank")
    page.context.route("**/worker.mjs", lambda route: route.fulfill(status=200, content_type="text/javascript", body="throw 1"))
    page.goto(f"{site}/{LESSONS['03'].folder}.html?again")
    expect(page.locator("html[data-python=failed]")).to_be_attached()
    expect(page.locator("#gk-python")).to_contain_text("Panels and predictions work without it")
    expect(page.get_by_text(course_site.WAITING)).to_have_count(0)
    expect(page.get_by_text("This needs Python, which is not here.").first).to_be_visible()
    predict = page.get_by_role("region", name="Predict: one set", exact=True)
    predict.get_by_role("radio", name="forward reduction").check()
    predict.get_by_role("textbox", name="Ratio").fill("18/5")
    page.keyboard.press("Enter")
    expect(predict).to_contain_text("Found: forward reduction, ratio 18/5")


def test_the_record_goes_out_as_a_file_and_comes_in_again(page: Page, site: str, tmp_path: Path) -> None:
    page.goto(f"{site}/record.html")
    expect(page.locator("#gk-count")).to_contain_text("0 predictions, 0 checked answers, 0 hints")
    brought = tmp_path / "my_record.json"
    brought.write_text(
        '{"format": 1, "seed": "ab", "events": [\n{"at": "2026-01-02T03:04:05.678+00:00", "kind": "hint", "item": "L03-02"}\n]}\n'
    )
    page.get_by_label("Bring in a record from a file").set_input_files(brought)
    expect(page.locator("#gk-told")).to_contain_text("1 entry of my_record.json was added")
    expect(page.locator("#gk-count")).to_contain_text("0 predictions, 0 checked answers, 1 hint.")
    brought.write_text("no record")
    page.get_by_label("Bring in a record from a file").set_input_files(brought)
    expect(page.locator("#gk-told")).to_contain_text("is no record, or is damaged; nothing was changed")
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save my record to a file").click()
    assert waiting.value.suggested_filename == "my_record.json"
    waiting.value.save_as(brought)
    assert '"kind":"hint"' in brought.read_text(encoding="utf-8")


def test_a_sheet_is_answered_on_a_page_by_keyboard_kept_saved_and_marked(tmp_path: Path) -> None:
    room = Classroom(tmp_path, "L03-02, L03-03")
    copies = {"sheets/mine.html": next(copy for copy in copies_in(room.course.folder) if copy.learner == "s1")}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(course_site, "LESSONS", {})
        patch.setenv("PATH", str(tmp_path))
        patch.setenv("XDG_CACHE_HOME", str(tmp_path))
        course_site.write(course_site.build(copies=copies), tmp_path / "site")
    (tmp_path / "in").mkdir()
    with served(tmp_path / "site") as base, lab.browser_page(390, 844) as page:
        page.goto(f"{base}/sheets/mine.html")
        expect(page.locator("#gk-python")).to_contain_text("You can answer and hand in without it")
        page.get_by_role("group", name="L03-02").get_by_role("textbox").focus()
        page.keyboard.type("1 + R/S")
        page.keyboard.press("Tab")
        page.keyboard.type('a "wrong" one')
        page.reload()
        expect(page.get_by_role("group", name="L03-03").get_by_role("textbox")).to_have_value('a "wrong" one')
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        with page.expect_download() as waiting:
            page.get_by_role("button", name="Save the sheet to hand it in").press("Enter")
        expect(page.locator("#gk-told")).to_contain_text("Saved as s1_A1.ipynb")
        expect(page.locator("#gk-told")).to_contain_text("All exercises have an answer.")
        waiting.value.save_as(tmp_path / "in" / waiting.value.suggested_filename)
        page.goto(f"{base}/sheets/")
        expect(page.get_by_text("Open the page whose address your instructor gave you.")).to_be_visible()
    assert take_in.take_in(room.course, "A1", tmp_path / "in", CLASS).taken == ("s1",)
    marked = batch.mark_sheet(room.course, room.sheet, workers=1)
    assert [str(item.verdict) for item in marked.learners[0].items] == ["right", "unreadable"]


def self_signed(path: Path) -> Path:
    """Write a key with a certificate that it signed itself, for this machine, and return the file."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "127.0.0.1")])
    now = datetime.now(UTC)
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.IPAddress(IPv4Address("127.0.0.1"))]), critical=False)
        .sign(key, hashes.SHA256())
    )
    form = serialization.PrivateFormat.PKCS8
    held = key.private_bytes(serialization.Encoding.PEM, form, serialization.NoEncryption())
    path.write_bytes(held + certificate.public_bytes(serialization.Encoding.PEM))
    return path


def test_by_https_a_page_is_kept_for_times_without_a_network(tmp_path: Path) -> None:
    """The lesson page itself needs no Python for it; the certificate is one that nobody knows, so the browser is told to take it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(course_site, "LESSONS", {"03": LESSONS["03"]})
        patch.setenv("PATH", str(tmp_path))
        patch.setenv("XDG_CACHE_HOME", str(tmp_path))
        course_site.write(course_site.build(), tmp_path / "site")
    with (
        served(tmp_path / "site", self_signed(tmp_path / "key.pem")) as base,
        lab.browser_page(more=["--ignore-certificate-errors"]) as page,
    ):
        assert base.startswith("https://")
        page.goto(f"{base}/index.html")
        assert page.evaluate("isSecureContext")
        expect(page.locator("#gk-offline")).to_contain_text("they work without a network")
        page.evaluate("navigator.serviceWorker.ready")
        page.context.set_offline(True)
        page.goto(f"{base}/{LESSONS['03'].folder}.html")
        expect(page.locator("html[data-panels=live]")).to_be_attached()
