"""The script that the server runs, in a folder of its own.

Streamlit puts the folder of its script first where Python looks for modules, and takes a folder
`pages` beside it for pages of another kind; neither may meet the modules of the screen.
"""
