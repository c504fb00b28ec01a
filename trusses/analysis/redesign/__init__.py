"""How a truss can be changed so that an opening is clear: drafts of documents, layouts of webs, better lumber.

`options` searches with what stands here; nothing here analyses a truss.
"""
