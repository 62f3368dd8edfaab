"""Rules, findings, plug-ins and the glossary as text."""
