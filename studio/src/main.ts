import { mount } from 'svelte';
import './page.css';
import Page from './Page.svelte';
import { studio } from './lib/studio.svelte';

mount(Page, { target: document.getElementById('page')! });
void studio.begin();
