"""Serves a class set on this machine: its site, or its workbooks in Jupyter."""
