"""Today in a phone's browser: heard, clicked, climbed, counted clean, ticked."""

import pytest

from students.models import Tick

pytestmark = pytest.mark.django_db(transaction=True)

SMALL_TARGETS = """() => [...document.querySelectorAll("main button, main label, .day a, .foot a")]
    .filter((e) => e.checkVisibility()).map((e) => [e.textContent.trim(), e.getBoundingClientRect()])
    .filter(([, box]) => box.width < 44 || box.height < 44)
    .map(([text, box]) => `${text} ${box.width}x${box.height}`)"""


def edges(page, seconds=2.5):
    """Where the inked edge was seen over some seconds: the x of each place, in order."""
    return page.evaluate(
        """async (seconds) => {
          const seen = [];
          for (const end = performance.now() + seconds * 1000; performance.now() < end; ) {
            const edge = document.querySelector("rect.edge");
            const bar = edge?.ownerSVGElement.querySelector("title").textContent.slice(0, 6);
            const x = edge && bar + edge.getAttribute("x");
            if (x && seen.at(-1) !== x) seen.push(x);
            await new Promise(requestAnimationFrame);
          }
          return seen;
        }""",
        seconds,
    )


def test_the_loop_is_heard_with_a_moving_edge_until_it_is_stopped(phone):
    page = phone()
    hear = page.get_by_role("button", name="Hear")
    hear.click()
    assert hear.get_attribute("aria-pressed") == "true"
    page.locator("rect.edge").wait_for(state="attached")  # after the count-in
    assert len(edges(page)) >= 2
    hear.click()
    assert hear.get_attribute("aria-pressed") == "false"
    assert page.locator("rect.edge").count() == 0


def test_click_takes_the_place_of_hear(phone):
    page = phone()
    page.get_by_role("button", name="Hear").click()
    page.get_by_role("button", name="Click").click()
    assert page.get_by_role("button", name="Hear").get_attribute("aria-pressed") == "false"
    assert page.get_by_role("button", name="Click").get_attribute("aria-pressed") == "true"


def test_nothing_moves_for_a_reader_who_wants_no_motion(phone):
    page = phone(reduced_motion="reduce")
    page.get_by_role("button", name="Hear").click()
    page.wait_for_timeout(6000)  # past the count-in at any tempo from 48 up
    assert page.get_by_role("button", name="Hear").get_attribute("aria-pressed") == "true"
    assert page.locator("rect.edge").count() == 0


def test_without_web_audio_neither_hear_nor_click_is_offered(phone, site):
    page = phone()
    page.add_init_script("delete window.AudioContext")
    page.reload()
    page.get_by_role("button", name="Clean").wait_for()
    assert not page.get_by_role("button", name="Hear").is_visible()
    assert not page.get_by_role("button", name="Click").is_visible()


def test_three_taps_of_clean_choose_the_tempo_and_go_up_the_ladder_and_a_slip_begins_again(phone, given):
    page = phone()
    task = given.student.tasks.filter(day=given.starts_on).first()
    now, clean = page.locator("#climb output"), page.get_by_role("button", name="Clean 1")
    assert now.text_content() == str(task.from_tempo)
    assert page.locator("#tick :checked").count() == 0
    clean.click()
    clean.click()
    page.get_by_role("button", name="Slip").click()
    assert page.locator("#tick :checked").count() == 0
    for _ in range(3):
        clean.click()
    assert page.locator('[name="tempo"]:checked').get_attribute("value") == str(task.from_tempo)
    assert int(now.text_content()) > task.from_tempo
    assert page.locator('[name="felt"]:checked').count() == 0
    page.get_by_text(f"Clean at {task.from_tempo}. Now {now.text_content()}.").wait_for()


def test_slower_and_faster_stay_on_the_ladder(phone):
    page = phone()
    tempos = page.locator('[name="tempo"]').evaluate_all("all => all.map(one => Number(one.value))")
    now = page.locator("#climb output")
    for _ in range(len(tempos) + 1):
        page.get_by_role("button", name="Slower").click(force=True)
    assert int(now.text_content()) == tempos[0]
    for _ in range(len(tempos) + 1):
        page.get_by_role("button", name="Faster").click(force=True)
    assert int(now.text_content()) == tempos[-1]
    assert page.get_by_role("button", name="Faster").get_attribute("aria-disabled") == "true"


def test_a_tick_goes_through_the_queue_and_the_next_loop_comes(phone, given):
    page = phone()
    page.locator("label", has=page.locator('[name="tempo"]')).first.click()
    page.get_by_text("Some slips").click()
    page.get_by_role("button", name="Tick loop 1").click()
    page.get_by_role("button", name="Tick loop 2").wait_for()
    tick = Tick.objects.get()
    assert (tick.felt, tick.student) == ("slips", given.student)
    page.get_by_role("link", name="Loop 1").click()
    page.get_by_role("button", name="Take back").click()
    page.get_by_role("button", name="Tick loop 1").wait_for()
    assert not Tick.objects.standing().exists()


@pytest.mark.parametrize("width", [320, 390])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_everything_a_learner_touches_is_44_px_and_nothing_scrolls_sideways(phone, width, scheme):
    page = phone(viewport={"width": width, "height": 700}, color_scheme=scheme)
    page.get_by_role("button", name="Hear").wait_for()
    assert page.evaluate(SMALL_TARGETS) == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_at_twice_the_size_nothing_is_cut_off_or_scrolls_sideways(phone):
    page = phone(viewport={"width": 195, "height": 422}, device_scale_factor=2)  # 390 px to a 200% reader
    page.get_by_role("button", name="Hear").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= 195


def test_the_first_load_stays_under_150_kb_without_fonts_even_uncompressed(phone):
    page = phone()
    page.get_by_role("button", name="Hear").wait_for()
    loaded = page.evaluate("""() => ["navigation", "resource"].flatMap((kind) => performance.getEntriesByType(kind))
      .filter(({ name }) => !/woff2|week/.test(name)).reduce((sum, { transferSize }) => sum + transferSize, 0)""")
    assert 20_000 < loaded < 150_000
