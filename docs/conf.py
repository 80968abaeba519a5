"""How Sphinx makes the pages of docs/ into a site: `make docs` gathers them with what is written from the code first.

The site is served under the shop's policy: no script and no style stands in a page, nothing comes from elsewhere.
"""

from wetrun import __version__

project = "Wetrun"
author = "The Wetrun authors"
release = version = __version__
html_title = "Wetrun"
language = "en"

extensions = ["myst_parser"]
myst_heading_anchors = 3
root_doc = "index"
nitpicky = True
# Examples are Python sessions and consoles; what is no language of Pygments stays plain text.
highlight_language = "text"

html_theme = "furo"
html_theme_options = {"top_of_page_buttons": []}
templates_path = ["_templates"]
html_static_path = ["_static"]
html_css_files = ["tokens.css", "site.css"]
html_favicon = "_static/mark.svg"
html_copy_source = False
html_show_sourcelink = False
html_show_sphinx = False
html_use_index = False
html_domain_indices = False
pygments_style = "xcode"
pygments_dark_style = "github-dark"
