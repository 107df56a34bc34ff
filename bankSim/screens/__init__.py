"""The pages: they read widgets, ask the core once, and draw. Only here is Streamlit known."""
