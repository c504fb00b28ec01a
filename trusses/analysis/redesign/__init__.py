"""How a truss can be changed so that an opening is clear: drafts of documents, layouts of webs, better lumber.

`search` looks with what stands beside it, where nothing analyses a truss.
"""
