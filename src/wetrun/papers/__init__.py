"""Papers: what leaves the shop. Records become plain data, data become pages by typst or pictures by SVG."""
