"""Look for what keeps people out, with axe-core, a well-kept checker of pages."""

from generator.errors import SiteError
from generator.site.tools import cache_folder, fetch_package, once
from tests.absent import stop

# Fetched once by npm, for tests alone; licence MPL-2.0.
NAME = "axe-core@4.14.1"
INTEGRITY = (
    "sha512-FHfa+lmNjQZfJz1q8wKqIDwC6DExcHt/pkjNQb09a3NPjCKg2rhu5qb2S4r76ASyFNNtuFooJpZe"
    "37OgudVGtQ=="
)
FILE = "axe.min.js"
# WCAG 2.2 at the levels A and AA, by the names that axe-core gives them.
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
_RUN = """async ([place, tags]) => {
  const runOnly = { type: "tag", values: tags };
  const { violations } = await axe.run({ include: place }, { runOnly });
  return violations.flatMap(({ id, nodes }) =>
    nodes.map((node) => `${id}: ${node.html} ${node.failureSummary}`));
}"""


def script():
    """The checker; a test stops where it cannot be fetched."""
    try:
        folder = once(
            cache_folder() / NAME.replace("@", "-"),
            lambda draft: fetch_package((NAME, INTEGRITY), [FILE], draft),
        )
    except SiteError as error:
        stop(f"axe-core cannot be fetched: {error}")
    return folder / FILE


WIDTHS_PX = (1280, 320)


# Jupyter gives its panels their new width some time after the window has its own.
FOLLOWED = """() => {
  const panel = document.querySelector(".jp-NotebookPanel");
  return !panel || Math.abs(innerWidth - panel.getBoundingClientRect().right) < 60;
}"""


def faults_at_all_widths(page, *places):
    """What stands against it on a wide and on a narrow page."""
    return faults_at(page, WIDTHS_PX, *places)


def faults_at(page, widths, *places):
    """What stands against it at some widths of the page."""
    height = page.viewport_size["height"]
    found = []
    for width in widths:
        page.set_viewport_size({"width": width, "height": height})
        page.wait_for_function(FOLLOWED)
        found += [f"{width} px: {fault}" for fault in faults(page, *places)]
    return found


def faults(page, *places):
    """What stands against WCAG 2.2 AA in some places of a page, by CSS selectors."""
    if not page.evaluate("() => 'axe' in globalThis"):
        page.add_script_tag(path=script())
    return page.evaluate(_RUN, [list(places), TAGS])
