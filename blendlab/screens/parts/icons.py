"""Marks of our own, drawn as SVG and laid by style over what they belong to, in the colour of its words."""

from urllib.parse import quote

_SVG = "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 24 24'>{}</svg>"
_LINE = (
    "<path fill='none' stroke='#000' stroke-width='2' stroke-linecap='round' stroke-linejoin='round' d='{}'/>"
)
_STAR = "M12 3.2 14.4 9.3 20.8 9.6 15.9 13.8 17.5 20.1 12 16.6 6.5 20.1 8.1 13.8 3.2 9.6 9.6 9.3Z"
_MARKS = {
    "fetch": _LINE.format("M12 4v10M7.5 10.5 12 15l4.5-4.5M5 19.5h14"),  # an arrow onto a bench
    "lift": _LINE.format("M12 14V4M7.5 8.5 12 4l4.5 4.5M5 19.5h14"),  # and off it
    "down": _LINE.format("M6.5 9.5 12 15l5.5-5.5"),
    "out": _LINE.format("M7 7l10 10M17 7L7 17"),
    "days": _LINE.format("M5 6.5h14v13H5zM5 11h14M9 4v4M15 4v4"),
    "ask": _LINE.format("M9 9.2a3.1 3.1 0 1 1 4.6 2.6c-1 .6-1.6 1.2-1.6 2.4M12 18.1v.1"),
    "star": _LINE.format(_STAR),
    "star-full": f"<path fill='#000' d='{_STAR}'/>",
}


def css() -> str:
    """Return the marks as style: of what opens, explains, brings and fetches, and the stars of a rating."""
    marks = "".join(
        f'--{name}: url("data:image/svg+xml,{quote(_SVG.format(drawn))}");' for name, drawn in _MARKS.items()
    )
    return f":root {{{marks}}}{_CSS}"


_CSS = """
[data-testid=stIconMaterial], [data-testid=stTooltipHoverTarget] svg,
:is([data-testid=stSelectbox], [data-testid=stMultiSelect], [data-testid=stDateInput]) button svg
  {flex: none; width: 1.15rem !important; height: 1.15rem !important; font-size: 0 !important;
  background: currentcolor; mask: var(--down) center / contain no-repeat;}
:is([data-testid=stTooltipHoverTarget], [data-testid=stSelectbox] button, [data-testid=stMultiSelect] button,
  [data-testid=stDateInput] button) svg * {display: none;}
[data-testid=stMultiSelect] button:not([aria-haspopup]) svg {mask-image: var(--out); width: .9rem !important;}
[data-testid=stDateInput] button svg {mask-image: var(--days);}
[data-testid=stTooltipIcon] [data-testid=stTooltipHoverTarget] svg {mask-image: var(--ask) !important;}
details:not([open]) > summary [data-testid=stIconMaterial] {rotate: -90deg;}
[data-testid=stFileUploader] [data-testid=stIconMaterial] {mask-image: var(--lift);}
[data-testid=stFileUploaderFile] [data-testid=stIconMaterial] {mask-image: none; background: none;}
[data-testid=stFileUploaderDeleteBtn] [data-testid=stIconMaterial] {mask-image: var(--out);
  background: currentcolor;}
/* What hangs over pictures, charts and headings is not ours, and would stop the Tab key at each of them. */
[data-testid=stElementToolbar], [data-testid=stHeaderActionElements] {display: none !important;}
[data-testid=stDownloadButton] button::before, [class*=st-key-stars] button::before {content: "" / "";
  flex: none; width: 1.25rem; height: 1.25rem; background: currentcolor;
  mask: var(--fetch) center / contain no-repeat;}
[data-testid=stDownloadButton] button::before {margin-right: .4rem;}
/* All stars up to the chosen one are full; their words are for screen readers. */
[class*=st-key-stars] button {min-width: 2.75rem; min-height: 2.75rem; border-color: transparent !important;
  background: none !important;}
[class*=st-key-stars] button p {position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%); white-space: nowrap;}
[class*=st-key-stars] button::before {width: 1.6rem; height: 1.6rem; mask-image: var(--star);
  background: var(--ink);}
[class*=st-key-stars] button[aria-checked=true]::before,
[class*=st-key-stars] button:has(~ button[aria-checked=true])::before {mask-image: var(--star-full);}
"""
