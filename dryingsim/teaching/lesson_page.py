"""A form of a lesson as a page that needs nothing else: prose, code and what it showed."""

from dryingsim.plain_text import html_text as escape
from dryingsim.show.core.page import style_sheet
from dryingsim.teaching.lesson_source import Cell, Form
from dryingsim.teaching.markdown import html_of, image
from dryingsim.teaching.notebook import code_of, prose_of
from dryingsim.teaching.worked_lesson import Shown, WorkedLesson

_RULES = """
main{padding-bottom:3rem}
pre{background:var(--panel);padding:.6rem .8rem;overflow-x:auto;font-size:.85rem;line-height:1.4;margin:.6rem 0}
pre.shown{background:none;border-left:3px solid var(--edge)}
section{border-left:4px solid var(--link);padding-left:1rem;margin:1.2rem 0}
section.note{border-left-color:var(--alert)}
img{max-width:100%;height:auto;background:#fff}
p.formula{text-align:center}
img.formula{max-height:none}
@media screen and (prefers-color-scheme:dark){img.formula{padding:.1em .2em}}
"""


def lesson_page(worked: WorkedLesson, form: Form) -> str:
    """Return a form of a lesson that was worked through; what a task's answer showed is for the teacher alone.

    Parameters
    ----------
    worked : WorkedLesson
    form : Form
        "student" or "teacher".
    """
    by_cell = {shown.cell: shown for shown in worked.shown if form == "teacher" or shown.cell.kind != "end"}
    body = "\n".join(_block(cell, by_cell.get(cell)) for cell in worked.lesson.form(form))
    return whole_page(worked.lesson.title, body)


def whole_page(title: str, body: str) -> str:
    """Return a page.

    Parameters
    ----------
    title : str
    body : str
        HTML.
    """
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<style>{style_sheet()}{_RULES}</style></head><body><main>\n{body}\n</main></body></html>\n"
    )


def _block(cell: Cell, shown: Shown | None) -> str:
    if cell.is_prose:
        prose = html_of(prose_of(cell))
        return f'<section class="{cell.kind}">{prose}</section>' if cell.task else prose
    return f"<pre><code>{escape(code_of(cell))}</code></pre>{_outputs(shown)}"


def _outputs(shown: Shown | None) -> str:
    if shown is None:
        return ""
    text = f'<pre class="shown">{escape(shown.text.rstrip())}</pre>' if shown.text.strip() else ""
    pictures = "".join(
        f'<figure><img alt="{escape(words)}" src="{image(svg)}"></figure>' for svg, words in shown.pictures
    )
    return text + shown.html + pictures
