"""The screen of bankSim: `streamlit run app.py`, or `banksim app`."""

from bankSim.screens.router import show

show()
