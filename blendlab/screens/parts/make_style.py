"""The layout of the Make page: fields beside one pinned sheet at a desk, the sheet above them on a phone."""

import streamlit as st

from ...look.charge_view import view_shape
from ...recipe.recipe import Recipe
from . import lay_cards

_CSS = """
<style>
[data-testid=stMain] h1 {position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%);}
[data-testid=stMainBlockContainer] {max-width: 84rem; padding-top: 4.25rem;}
@media (min-width: 900px) {[data-testid=stMainBlockContainer] {padding-inline: 2rem;}}
.st-key-make h3, .st-key-below > div > div > h3 {font-family: inherit; font-size: .95rem; font-weight: 600;
  padding: 0;}
/* Names read as words until they are typed in. */
:is([class*=st-key-name], .st-key-title) [data-testid=stTextInputRootElement] {background: transparent;}
:is([class*=st-key-name], .st-key-title):not(:focus-within, :hover) [data-testid=stTextInputRootElement]
  {border-color: transparent;}
:is([class*=st-key-name], .st-key-title) input {font-weight: 600; padding-inline: .4rem;
  text-overflow: ellipsis;}
[class*=st-key-name] [data-testid=stTextInputRootElement] {height: 1.9rem; min-height: 0;}
.st-key-head .st-key-undo {margin-left: auto;}
[class*=st-key-slide] :is([data-testid=stSliderThumbValue], [data-testid=stSliderTickBar]) {display: none;}
[class*=st-key-slide] [data-testid=stSlider] {padding: 0 .75rem 0 .6rem; margin-top: -.5rem;}
[class*=st-key-row] [data-testid=stColorPickerBlock] {width: 3rem; height: 3rem; border-radius: .5rem;}
[class*=st-key-opacity] button {width: 2.75rem; min-height: 2.75rem; padding: 0; border: 0;
  background: transparent;}
[class*=st-key-opacity] button p {position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%); white-space: nowrap;}
[class*=st-key-opacity] button [data-testid=stIconMaterial] {display: none;}
[class*=st-key-opacity] button::before {content: "\\22EF" / ""; font-size: 1.4rem; line-height: 1;}
:is(.st-key-needs, .st-key-other_sheets, [class*=st-key-undo]) button {border: 0; background: transparent;
  padding: 0; min-height: 2.75rem; color: var(--ink);}
:is(.st-key-needs, .st-key-other_sheets, [class*=st-key-undo]) button:enabled p {font-weight: 600;
  text-decoration: underline; text-underline-offset: .2em;}
.st-key-needs p {line-height: 1.3;}
/* The flakes at hand, two rows: a disc of its colour with its name below, all of it one button. */
.st-key-flakes_at_hand {display: grid !important; grid-auto-flow: column; grid-template-rows: repeat(2, auto);
  grid-auto-columns: 4.5rem; justify-content: start; overflow-x: auto; gap: .25rem; padding: .25rem 0;}
.st-key-flakes_at_hand > :has(style) {display: none;}
.st-key-flakes_at_hand > * {width: 100% !important;}
.st-key-flakes_at_hand button {flex-direction: column; width: 4.25rem; min-height: 5rem; padding: .25rem 0;
  border: 0; background: transparent; justify-content: flex-start;}
.st-key-flakes_at_hand button p {font-size: .75rem; line-height: 1.1; white-space: normal;}
.st-key-flakes_at_hand button::before {content: ""; flex: none; width: 2.75rem; height: 2.75rem;
  margin: 0 auto .2rem; border-radius: 50%; background: var(--flake); border: 1px solid rgba(128,120,105,.7);}
.st-key-flakes_at_hand button:disabled {opacity: .35;}
.st-key-flakes_at_hand button:enabled:hover::before {outline: 2px solid var(--ink); outline-offset: 2px;}
/* The ways to lay, a picture and a name each; from above and, below it, cut through. */
[data-testid=stLayoutWrapper]:has(> :is(.st-key-ways, .st-key-move)), .st-key-move {margin-top: .4rem;}
.st-key-ways {display: grid !important; grid-template-columns: repeat(5, minmax(0, 1fr)); gap: .5rem;
  --shape: var(--cold);}
.st-key-ways > * {width: 100% !important;}
.st-key-ways .fold {font-size: .75rem; line-height: 1.1; padding-top: .2rem; white-space: normal;}
/* The steps, a row each; a quarter turn shows in the picture. */
[class*=st-key-slab] {flex: none; aspect-ratio: 1; justify-content: center;}
[class*=st-key-slab] img {aspect-ratio: var(--plan); object-fit: contain; max-height: 4.5rem;}
[class*=st-key-slab][class*=-about] img, [class*=st-key-slab][class*=-about]::before
  {transform: rotate(90deg);}
:is([class*=st-key-step_up], [class*=st-key-thinner_], [class*=st-key-thicker_]) button p {position: absolute;
  width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap;}
:is([class*=st-key-step_up], [class*=st-key-thinner_], [class*=st-key-thicker_]) button {min-width: 2.75rem;
  min-height: 2.75rem;}
[class*=st-key-worked] [data-testid=stText] {font-size: .9rem;}
[class*=st-key-step_up] button::before {content: "\\2191" / ""; font-size: 1.2rem; line-height: 1;}
[class*=st-key-thinner_] button::before {content: "thinner" / "";}
[class*=st-key-thicker_] button::before {content: "thicker" / "";}
:is([class*=st-key-thinner_], [class*=st-key-thicker_]) button::before {font-size: .9rem; line-height: 1;
  text-decoration: underline; text-underline-offset: .2em;}
/* The sheet keeps its place while it is drawn. */
.st-key-sheet {position: relative; aspect-ratio: var(--plan); justify-content: center; border-radius: .5rem;
  overflow: hidden; width: min(100%, var(--tall) * var(--wide)); margin: 0 auto; --tall: 34rem;}
.st-key-sheet:not(:has(img)) {background: var(--mean);}
.st-key-sheet:not(:has(img))::after {content: "Drawing the sheet …"; position: absolute; inset: auto 0 1rem;
  width: max-content; margin: 0 auto; padding: .1rem .6rem; border-radius: .3rem; background: var(--ground);
  color: var(--words);}
.st-key-sheet img {max-height: var(--tall); object-fit: contain;}
.st-key-side {gap: .5rem;}
.st-key-side [data-testid=stHeading] [data-testid=stMarkdownContainer] {margin-bottom: .25rem;}
.st-key-advice {min-height: 6rem;}
:is(.st-key-advice, .st-key-needs) [data-testid=stText] {font-size: .9rem;}
:is(.st-key-face, .st-key-edge, .st-key-lathe) button {border: 0; border-radius: 0; background: transparent;
  padding: .3rem .1rem; margin-right: .6rem;}
:is(.st-key-face, .st-key-edge, .st-key-lathe) button:is([aria-checked=true], [kind=pillsActive])
  {box-shadow: inset 0 -2px var(--ink);}
/* What scrolls sideways fades out at its end, which shows that it goes on. */
:is(.st-key-strip, .st-key-flakes_at_hand) {--fade: 2.25rem; padding-inline-end: var(--fade) !important;
  mask-image: linear-gradient(to left, transparent, #000 var(--fade));}
/* The strip of folds: a tile is a picture with one button over all of it. */
.st-key-strip {overflow-x: auto; padding: 4px;}
[class*=st-key-fold] {position: relative; border-radius: .5rem;}
[class*=st-key-fold] [class*=st-key-rung] {position: absolute !important; inset: 0; z-index: 2; width: 100%;
  height: 100%;}
[class*=st-key-rung] :is(div, button) {width: 100%; height: 100%;}
[class*=st-key-rung] button {background: transparent !important; border: 0;}
[class*=st-key-rung] button p {position: absolute; width: 1px; height: 1px; overflow: hidden;
  clip-path: inset(50%); white-space: nowrap;}
[class*=st-key-fold] img, .st-key-strip .end {aspect-ratio: var(--shape, var(--plan)); object-fit: cover;
  width: 100%;}
.st-key-laid_cold {--shape: var(--laid);}
:has(> .st-key-laid_not) {display: none;}
/* Small pictures keep their places until they are drawn. */
:is([class*=st-key-fold], [class*=st-key-slab], .st-key-laid_cold):not(:has(img))::before {content: "";
  width: 100%; aspect-ratio: var(--shape, var(--plan)); border-radius: .5rem; background: var(--mean);}
.fold {text-align: center; font-size: .85rem; line-height: 1.7rem; white-space: nowrap;}
.fold i {display: block; height: .45rem; border-radius: 0 0 .3rem .3rem;}
@media (min-width: 900px) {
  .st-key-make {flex-wrap: nowrap !important; align-items: flex-start;}
  :has(> .st-key-fields) {flex: 0 0 24rem; width: 24rem; min-width: 0;}
  :has(> .st-key-result) {flex: 1 1 0; min-width: 0; position: sticky; top: 4.25rem;}
  .st-key-result {display: grid !important; align-items: start; gap: .75rem 1.5rem;
    grid-template-columns: minmax(0, 1fr) 12rem; grid-template-rows: repeat(3, auto) 1fr;
    grid-template-areas: "sheet side" "faces side" "strip side" "figures side";}
  .st-key-result > * {min-width: 0; width: auto !important;}
  .st-key-result > :has(> .st-key-sheet) {grid-area: sheet;}
  .st-key-result > :has(> .st-key-faces) {grid-area: faces;}
  .st-key-result > :has(> .st-key-side) {grid-area: side;}
  .st-key-result > :has(> .st-key-ladder) {grid-area: strip;}
  .st-key-result > :has(> .st-key-figures) {grid-area: figures;}
}
@media (max-width: 899px) {
  [data-testid=stMainBlockContainer] {padding-top: 3.75rem;}
  .st-key-make {display: flex; flex-direction: column; flex-wrap: nowrap !important; gap: .75rem;}
  :has(> .st-key-result), .st-key-result {display: contents !important;}
  .st-key-result > * {order: -1; width: 100% !important;}
  .st-key-result > :has(> .st-key-ladder) {order: -2;}
  .st-key-result > :has(> .st-key-figures) {order: 1;}
  .st-key-result > :has(> .st-key-faces) {order: -3;}
  .st-key-result > :has(> .st-key-sheet) {order: -4; position: sticky; top: 3.5rem; z-index: 50;
    background: var(--ground); padding: .25rem 0;}
  .st-key-sheet {--tall: 38vh;}
  :has(> .st-key-fields) {width: 100% !important;}
  .st-key-advice {min-height: 5rem;}
  .st-key-head {flex-wrap: nowrap !important;}
  .st-key-title {flex: 1 1 6rem; width: auto !important; min-width: 0;}
  .st-key-face button {margin-right: 0;}
  .st-key-face button p {font-size: .85rem;}
  [class*=st-key-name] [data-testid=stTextInputRootElement] {height: 2.75rem;}
  [class*=st-key-row] {flex-wrap: wrap !important;}
  [class*=st-key-row] > :has(> * > [class*=st-key-name]), :has(> [class*=st-key-name]) {display: contents;}
  /* Two lines a flake, so that long names fit: colour, name, grams; and below them the slider and marks. */
  [class*=st-key-name] {flex: 1 1 calc(100% - 11rem); width: auto !important; min-width: 0;}
  [class*=st-key-slide] {order: 1; flex: 1 1 8rem; min-width: 0; margin-top: -.5rem;}
  [class*=st-key-row] > :is([class*=st-key-opacity], [class*=st-key-remove],
    :has(> [class*=st-key-opacity])) {order: 2; margin-top: -.5rem;}
  [class*=st-key-slide] [data-testid=stSlider] {padding-block: .6rem; margin: 0;}
}
</style>
"""


def apply(recipe: Recipe, mean: str, chosen: int) -> None:
    """Put the layout on the page.

    Parameters
    ----------
    mean : str
        Colour in which a sheet stands until it is drawn, ``#rrggbb``.
    chosen : int
        Fold count whose tile is framed.
    """
    long, wide = recipe.sheet.length_mm, recipe.sheet.width_mm
    plan = f"--plan: {long:g} / {wide:g}; --wide: {long / wide:.4f}; --mean: {mean}"
    rows, columns = view_shape(recipe.sheet, lay_cards.PX)
    plan += f"; --cold: {columns} / {rows}"
    rows, columns = view_shape(recipe.sheet)
    plan += f"; --laid: {columns} / {rows}"
    framed = f".st-key-fold{chosen} {{outline: 3px solid var(--ink); outline-offset: 1px;}}"
    framed += f" .st-key-fold{chosen} .fold {{font-weight: 600;}}"
    st.html(_CSS.replace("<style>", f"<style>\n.stApp {{{plan}}}\n{framed}"))
